"""The rest of an express request: what the set is connected to, kept for the order."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from django import forms
from django.db import transaction
from django.db.models import F
from django.utils import translation
from django.utils.translation import gettext_lazy as _

from intake.events.services import event_record
from intake.models import Answer, HireRequest
from intake.outbox.services import outbox_put
from quotes.emergency.needs import SIZE_QUEUE, SIZE_TOPIC, connection_note
from quotes.models import Need, SiteConnection

CONNECTIONS = (
    ("", _("Choose one")),
    (SiteConnection.LUGS, _("Lugs: wires are screwed on")),
    (SiteConnection.CAM, _("Cam connectors: single plugs, one a wire")),
    (SiteConnection.INLET, _("An inlet with pins")),
    (SiteConnection.UNSURE, _("Not sure")),
)


def _line(label: Any, help_text: Any = "") -> forms.CharField:
    return forms.CharField(label=label, help_text=help_text, max_length=300, required=False)


class DetailsForm(forms.Form):
    """Every field may stay empty."""

    connection = forms.ChoiceField(
        label=_("How are the leads connected?"), choices=CONNECTIONS, required=False
    )
    lead_length_ft = forms.DecimalField(
        label=_("Way from the set to the connection, ft"),
        required=False,
        min_value=Decimal(1),
        max_value=Decimal(1600),
        max_digits=6,
        decimal_places=1,
        error_messages=dict.fromkeys(
            ("invalid", "min_value", "max_value", "max_digits", "max_decimal_places"),
            _("Enter the way in feet, 1 to 1600."),
        ),
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    service_note = _line(_("Service entry"), _("Grounding, size of the neutral, free terminals."))
    must_run = _line(_("What must run first"))
    access_note = _line(_("Access"), _("Gates, keys, width and height for a truck and trailer."))
    ground_note = _line(_("Ground where the set stands"))
    noise_note = _line(_("Doors, windows, vents and people near it"))
    fuel_note = _line(_("Fuel on site"), _("Kind, tank size, and when a truck can come."))
    hazards_note = _line(_("Hazards on site"))
    second_contact = _line(_("Second contact, with phone"))

    def given(self) -> dict[str, Any]:
        """What was filled in, as it is stored."""
        return {
            name: str(value) for name, value in self.cleaned_data.items() if value not in (None, "")
        }


@transaction.atomic
def details_keep(*, need_id: int, given: dict[str, Any], now: datetime) -> None:
    """Add to what is known of the hook-up; an empty field takes nothing away.

    It stands beside the need, and as answers of the request, so that desk and order have it too.
    """
    rows = Need.objects.select_for_update(of=("self",)).select_related("request")
    need = rows.get(pk=need_id)
    before = need.connection_data
    added = {name: value for name, value in given.items() if before.get(name) != value}
    if not added:
        return
    known = {**before, **added}
    Need.objects.filter(pk=need_id).update(connection_data=known, version=F("version") + 1)
    _answer(need.request_or_fail, known, now)
    outbox_put(topic=SIZE_TOPIC, payload={"need_id": need_id}, queue=SIZE_QUEUE, now=now)
    event_record(
        kind="need_detailed", now=now, actor="customer", request=need.request,
        subject=need.name[:120], added=sorted(added),
    )  # fmt: skip


def _answer(request: HireRequest, known: dict[str, Any], now: datetime) -> None:
    with translation.override(request.language):
        labels = {name: str(field.label) for name, field in DetailsForm.base_fields.items()}
    said = {"note": connection_note(known, labels), "site_contact": known.get("second_contact")}
    if length_ft := known.get("lead_length_ft"):
        said["lead_length"] = f"{length_ft} ft"
    for key, value in said.items():
        if value:
            Answer.objects.update_or_create(
                request=request,
                key=key,
                defaults={"value": value, "unsure": False, "updated_at": now},
            )
