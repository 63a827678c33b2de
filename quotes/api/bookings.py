"""Orders and bookings for programs of the desk, of the branches of the person they act as."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import PermissionDenied
from django.db.models import Q, QuerySet
from django.http import Http404
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from intake.api.operations import ID, operation
from intake.api.pages import PageQuery, page_of
from intake.api.reading import query_read
from intake.api.view import ApiView
from intake.desk.access import branches_of
from quotes.api import shapes
from quotes.api.documents import booking_document
from quotes.models import Booking

TAG = "bookings"


class BookingQuery(PageQuery):
    branch = serializers.RegexField(r"^[A-Za-z0-9][A-Za-z0-9_-]{0,19}$", required=False)
    unit = serializers.RegexField(r"^[A-Za-z0-9][A-Za-z0-9_-]{0,29}$", required=False)
    order = serializers.RegexField(r"^[A-Z0-9-]{3,20}$", required=False)
    on = serializers.DateField(required=False, help_text="Held on this day.")
    cancelled = serializers.BooleanField(required=False, allow_null=False)


class BookingView(ApiView):
    """What the views of bookings share: the person, and the branches open to them."""

    scope = "bookings"

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        if not self.actor.has_perms(["intake.read_desk", "quotes.view_booking"]):
            raise PermissionDenied

    def bookings(self) -> QuerySet[Booking]:
        rows = Booking.objects.select_related(
            "unit__set_type", "unit__branch", "order__request", "need"
        )
        branches = branches_of(self.actor)
        return rows if branches is None else rows.filter(unit__branch__code__in=branches)


class Bookings(BookingView):
    @operation(
        "List bookings", TAG, {200: shapes.BookingPage}, id="list_bookings", query=BookingQuery
    )
    def get(self, request: Request) -> Response:
        asked = query_read(BookingQuery, request)
        rows = self.bookings().filter(_wanted(asked))
        return Response(page_of(request, rows, booking_document, asked))


def _wanted(asked: dict[str, Any]) -> Q:
    """The bookings that were asked for."""
    wanted = Q()
    for name, path in (("branch", "unit__branch__code"), ("unit", "unit__number"),
                       ("order", "order__number")):  # fmt: skip
        if name in asked:
            wanted &= Q(**{path: asked[name]})
    if "on" in asked:
        wanted &= Q(starts_on__lte=asked["on"], free_on__gt=asked["on"])
    if "cancelled" in asked:
        wanted &= Q(cancelled_at__isnull=not asked["cancelled"])
    return wanted


class OneBooking(BookingView):
    @operation("Read a booking", TAG, {200: shapes.DeskBooking}, id="read_booking", takes=(ID,))
    def get(self, request: Request, id: int) -> Response:
        found = self.bookings().filter(pk=id).first()
        if found is None:
            raise Http404
        return Response(booking_document(found))
