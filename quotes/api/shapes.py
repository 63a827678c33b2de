"""Shapes of what the API of quotes takes and gives."""

from __future__ import annotations

from typing import Any

from django.core.validators import ProhibitNullCharactersValidator
from rest_framework import serializers

from intake.api.shapes.requests import STATUSES
from quotes.models import OrderState, QuoteState, UnitState

QUOTE_STATES = QuoteState.values
ORDER_STATES = OrderState.values
UNIT_STATES = UnitState.values
Shape = serializers.Serializer[Any]


class Money(Shape):
    value = serializers.CharField(help_text="Decimal, two digits behind the point.")
    unit = serializers.CharField(help_text="`USD`")


class QuoteLine(Shape):
    kind = serializers.CharField()
    code = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]
    quantity = serializers.CharField()
    unit = serializers.CharField()
    unit_price = Money()
    amount = Money()
    why = serializers.CharField()


class QuoteTax(Shape):
    name = serializers.CharField()
    percent = serializers.CharField()
    base = Money()
    amount = Money()
    exempt = serializers.CharField()


class QuoteSet(Shape):
    code = serializers.CharField()
    name = serializers.CharField()
    quantity = serializers.IntegerField()


class Quote(Shape):
    number = serializers.CharField()
    revision = serializers.IntegerField()
    state = serializers.ChoiceField(QUOTE_STATES)
    sets = QuoteSet(many=True)
    branch = serializers.CharField()
    starts_on = serializers.DateField()
    ends_on = serializers.DateField()
    lines = QuoteLine(many=True)
    taxes = QuoteTax(many=True)
    net = Money()
    tax = Money()
    total = Money()
    deposit = Money()
    terms_version = serializers.CharField()
    terms = serializers.CharField()
    valid_until = serializers.DateTimeField()
    document = serializers.CharField(help_text="Address of the PDF.")


class AcceptanceAsked(Shape):
    revision = serializers.IntegerField(
        min_value=1, max_value=100_000, help_text="The revision that was read."
    )
    terms_version = serializers.CharField(
        max_length=20, help_text="The terms that were read and are agreed to."
    )
    name = serializers.CharField(
        min_length=1, max_length=120, validators=[ProhibitNullCharactersValidator()]
    )
    role = serializers.CharField(max_length=120, required=False, allow_blank=True, default="")
    purchase_order = serializers.CharField(
        max_length=60, required=False, allow_blank=True, default=""
    )


class BookingShape(Shape):
    unit = serializers.CharField()
    set_code = serializers.CharField()
    starts_on = serializers.DateField()
    ends_on = serializers.DateField()
    sheet = serializers.CharField(help_text="Address of the delivery sheet, a PDF.")
    card = serializers.CharField(help_text="Address of the start card, a PDF.")


class Order(Shape):
    number = serializers.CharField()
    state = serializers.ChoiceField(ORDER_STATES)
    quote = serializers.CharField()
    total = Money()
    accepted_by = serializers.CharField()
    accepted_at = serializers.DateTimeField()
    purchase_order = serializers.CharField()
    bookings = BookingShape(many=True)


class DeskBooking(Shape):
    id = serializers.IntegerField(min_value=1)
    unit = serializers.CharField()
    set_code = serializers.CharField()
    branch = serializers.CharField()
    order = serializers.CharField(allow_null=True, help_text="None where an emergency holds it.")
    reference = serializers.CharField(allow_null=True, help_text="Of the order's request.")
    starts_on = serializers.DateField()
    ends_on = serializers.DateField()
    free_on = serializers.DateField(help_text="The first day it may go out again.")
    cancelled_at = serializers.DateTimeField(allow_null=True)
    sheet = serializers.CharField(
        allow_null=True, help_text="Address of the delivery sheet, a PDF; none where none goes out."
    )
    card = serializers.CharField(
        allow_null=True, help_text="Address of the start card, a PDF; none where none goes out."
    )


class BookingPage(Shape):
    items = DeskBooking(many=True)
    next_cursor = serializers.CharField(allow_null=True)


class Revision(Shape):
    number = serializers.CharField()
    revision = serializers.IntegerField()
    state = serializers.ChoiceField(QUOTE_STATES)
    total = Money()
    offered_at = serializers.DateTimeField(allow_null=True)
    valid_until = serializers.DateTimeField(allow_null=True)
    document = serializers.CharField(help_text="Address of the PDF.")


class RevisionPage(Shape):
    items = Revision(many=True)
    next_cursor = serializers.CharField(allow_null=True)


class RefusalAsked(Shape):
    revision = serializers.IntegerField(
        min_value=1, max_value=100_000, help_text="The revision that was read."
    )
    words = serializers.CharField(
        max_length=2000, required=False, allow_blank=True, default="", help_text="Why not."
    )


class ChangeAsked(Shape):
    revision = serializers.IntegerField(
        min_value=1, max_value=100_000, help_text="The revision that was read."
    )
    words = serializers.CharField(
        min_length=1, max_length=2000, help_text="What should be changed."
    )


class QuoteStanding(Shape):
    revision = serializers.IntegerField()
    state = serializers.ChoiceField(QUOTE_STATES)
    request_status = serializers.ChoiceField(STATUSES)


class Kilowatts(Shape):
    value = serializers.FloatField()
    unit = serializers.CharField(help_text="`kW`")


class CatalogueSet(Shape):
    code = serializers.CharField()
    name = serializers.CharField()
    prime = Kilowatts()
    units = serializers.IntegerField(help_text="In service, of all branches.")


class CatalogueSets(Shape):
    items = CatalogueSet(many=True)


class BranchShape(Shape):
    code = serializers.CharField()
    name = serializers.CharField()
    zip = serializers.CharField()
    state = serializers.CharField()
    phone = serializers.CharField()
    emergency_phone = serializers.CharField()


class Branches(Shape):
    items = BranchShape(many=True)
