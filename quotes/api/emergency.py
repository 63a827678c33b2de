"""Emergency requests of a program."""

from __future__ import annotations

from typing import Any
from uuid import NAMESPACE_URL, uuid5

from django.http import Http404
from django.urls import reverse
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from intake.api.etags import etag, tagged
from intake.api.idempotency import idempotent, key_of
from intake.api.operations import IDEMPOTENCY, REFERENCE, operation
from intake.api.pages import PageQuery, page_of
from intake.api.problems import FieldsRefused, error_item
from intake.api.reading import fields_read
from intake.api.shapes import Shape
from intake.api.view import ApiView
from intake.models import ApiRequest
from quotes.api.need_shapes import NeedStanding, need_standing
from quotes.emergency.express.forms import ExpressForm
from quotes.emergency.express.services import express_accept
from quotes.models import Need

TAG = "emergency"


class EmergencyAsked(Shape):
    """The least that is needed to send somebody; `unsure` is an answer."""

    facility_kind = serializers.CharField(max_length=40, help_text="`shelter`, `water`, `medical`…")
    need_in = serializers.ChoiceField(
        ["0", "6", "12", "24", "48", "at"], help_text="Within so many hours, or `at` a time."
    )
    need_at = serializers.CharField(
        max_length=16, required=False, help_text="`2027-06-01T18:30`, on the clock of the site."
    )
    life_support = serializers.ChoiceField(["no", "yes", "unsure"])
    load = serializers.CharField(max_length=20, required=False, help_text="`150 kW` or `300 A`")
    main_breaker_a = serializers.IntegerField(min_value=15, max_value=6000, required=False)
    supply = serializers.ChoiceField(["120/240", "208Y/120", "480Y/277", "240/120", "unsure"])
    transfer_equipment = serializers.CharField(max_length=40, help_text="`none`, `unsure`…")
    place = serializers.CharField(min_length=1, max_length=150)
    zip = serializers.CharField(min_length=5, max_length=10)
    company = serializers.CharField(min_length=1, max_length=120)
    contact_name = serializers.CharField(min_length=1, max_length=120)
    phone = serializers.CharField(min_length=1, max_length=40, help_text="Answered at night.")
    email = serializers.CharField(max_length=200, required=False)


class Emergency(NeedStanding):
    reference = serializers.CharField(help_text="Also of the request: `/api/v1/requests/…`.")
    state = serializers.CharField()


class EmergencyPage(Shape):
    items = Emergency(many=True)
    next_cursor = serializers.CharField(allow_null=True)


def need_document(need: Need) -> dict[str, Any]:
    """An emergency request as its client sees it."""
    return {"reference": need.key, **need_standing(need)}


class EmergencyView(ApiView):
    scope = "emergency"

    def needs(self) -> Any:
        return Need.objects.filter(request__api_request__client=self.client)


class Emergencies(EmergencyView):
    @operation(
        "List your emergency requests", TAG, {200: EmergencyPage}, id="list_emergencies",
        query=PageQuery,
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        return Response(page_of(request, self.needs(), need_document))

    @operation(
        "Ask for power in an emergency; the duty rep is called at once", TAG,
        {201: Emergency}, id="ask_emergency", body=EmergencyAsked, takes=(IDEMPOTENCY,),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request) -> Response:
        said = fields_read(EmergencyAsked, request)
        key = uuid5(NAMESPACE_URL, f"{self.client.pk} {key_of(request)}")
        form = ExpressForm({**said, "form_key": str(key)}, now=self.now)
        if not form.is_valid():
            raise FieldsRefused(
                [
                    error_item(name, "answer_refused", str(sentence))
                    for name, sentences in form.errors.items()
                    for sentence in sentences
                ]
            )
        made, _token = express_accept(
            asked=form.asked(language="en"),
            organisation=self.client.organisation,
            form_key=key,
            now=self.now,
        )
        ApiRequest.objects.get_or_create(request=made, client=self.client)
        response = Response(need_document(self.needs().get(request=made)), status=201)
        response.headers["Location"] = reverse("api:emergency", args=[made.reference])
        return response


class OneEmergency(EmergencyView):
    @operation(
        "Read an emergency request", TAG, {200: Emergency}, id="read_emergency",
        takes=(REFERENCE,),
    )  # fmt: skip
    def get(self, request: Request, reference: str) -> Response:
        need = self.needs().filter(request__reference=reference).first()
        if need is None:
            raise Http404
        return tagged(need_document(need), etag(need.version))
