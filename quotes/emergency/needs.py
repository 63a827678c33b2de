"""Needs: made at once with what is known, sized afterwards, and who must look at them first."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import F, Q

from intake.models import HireRequest
from intake.questions.towns import zip_record
from quotes.emergency.ranks.selectors import jurisdictions
from quotes.models import (
    OPEN_NEED_STATES,
    PARTS_FROM_UTILITY,
    EmergencyEvent,
    EventState,
    Need,
    TransferEquipment,
)

Document = dict[str, Any]
SIZE_TOPIC = "quotes.size_need"
SIZE_QUEUE = "default"  # behind the calls to the duty rep, before quotes
LIFE_SAFETY = "A life may depend on this power: a person decides first."
NO_TRANSFER = (
    "Nothing parts the building from the utility, so no set may feed it: power sent back into the "
    "street kills line workers. It gets no quote; a person plans the hook-up first."
)
TRANSFER_UNSURE = (
    "It is not known what parts the building from the utility. A person asks before any set is "
    "promised."
)
NOT_SIZED = "It is not sized yet."
UNREADABLE = "It cannot be sized as it was entered: a person works it out."


def event_at(state: str, county: str) -> EmergencyEvent | None:
    """The open event of a place: the county's, else the state's, else one without a place."""
    order = jurisdictions(state, county)
    found = EmergencyEvent.objects.filter(state=EventState.OPEN, jurisdiction__in=order)
    return min(found, key=lambda event: order.index(event.jurisdiction), default=None)


@transaction.atomic
def needs_adopt(*, event: EmergencyEvent) -> int:
    """Give an event the open needs of its place that came before it was opened."""
    place = Q()
    if event.jurisdiction:
        place = Q(jurisdiction=event.jurisdiction)
        if len(event.jurisdiction) == 2:
            place |= Q(jurisdiction__startswith=f"{event.jurisdiction}-")
    found = Need.objects.filter(place, event=None, state__in=OPEN_NEED_STATES)
    return found.update(event=event, version=F("version") + 1)


def county_of(zip_code: str) -> str:
    """The county of a ZIP code without the word itself; empty where it is not known."""
    return str(zip_record(zip_code).get("county") or "").removesuffix(" County")


def position_of(zip_code: str) -> tuple[Decimal | None, Decimal | None]:
    """Latitude and longitude of a ZIP code's middle, in degrees."""
    record = zip_record(zip_code)
    if not record.get("lat") or not record.get("long"):
        return None, None
    return _degrees(record["lat"]), _degrees(record["long"])


def _degrees(text: str) -> Decimal:
    return Decimal(text).quantize(Decimal("0.00001"))


def person_reasons(*, life_safety: bool, transfer_equipment: str) -> list[str]:
    """Why a person must look, whatever the figures say."""
    reasons = [LIFE_SAFETY] if life_safety else []
    if transfer_equipment == TransferEquipment.NONE:
        reasons.append(NO_TRANSFER)
    elif transfer_equipment not in PARTS_FROM_UTILITY:
        reasons.append(TRANSFER_UNSURE)
    return reasons


def need_of_request(request: HireRequest) -> Need | None:
    """The need that a request was made for, if any."""
    return Need.objects.select_related("event", "site").filter(request=request).first()


def connection_note(known: Mapping[str, Any], labels: Mapping[str, str]) -> str:
    """What the set connects to as a note that goes with the request and its order."""
    lines = [
        f"{label}: {str(known[name]).replace('_', ' ')}"
        for name, label in labels.items()
        if known.get(name) not in (None, "", "unsure")
    ]
    return "; ".join(lines)[:2000]
