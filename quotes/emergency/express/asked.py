"""What an express request holds, and the same as answers and equipment of an ordinary request."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any
from uuid import UUID, uuid5

from intake.questions.answers import Given
from quotes.models import PARTS_FROM_UTILITY, Rank, TransferEquipment

UNSURE = "unsure"
EXPRESS = "express"
# Kinds of facility as the ordinary request knows them; "rescue" and "medical" are life safety.
FACILITIES = {
    "call_center": "rescue",
    "medical": "medical",
    "police": "rescue",
    "fire": "rescue",
    "command": "rescue",
    "water": "water",
    "wastewater": "water",
    "shelter": "shelter",
    "recovery": "shelter",
    "communications": "communications",
}
LIFE_SAFETY_FACILITIES = ("medical", "rescue")
PLATES = {
    "120/240": "240 V 1 ph",
    "208Y/120": "208 V 3 ph",
    "480Y/277": "480 V 3 ph",
    "240/120": "240 V 3 ph",
}


@dataclass(frozen=True, slots=True)
class Asked:
    """The least that is needed. ``load`` is like ``150 kW`` or empty; ``unsure`` is an answer."""

    facility_kind: str
    need_by: datetime
    life_support: str
    load: str
    main_breaker_a: int | None
    supply: str
    transfer_equipment: str
    zip: str
    place: str
    company: str
    contact_name: str
    phone: str
    email: str = ""
    language: str = "en"


def sending_key(asked: Asked, form_key: UUID) -> UUID:
    """One key for one form with one content: pressed twice it is one request, changed it is two."""
    facts = {name: value for name, value in asdict(asked).items() if name != "need_by"}
    return uuid5(form_key, repr(sorted(facts.items())))


def transfer_answer(transfer_equipment: str) -> Any:
    """Whether anything parts the building from the utility: yes, no, or not sure."""
    if transfer_equipment in PARTS_FROM_UTILITY:
        return "yes"
    return "no" if transfer_equipment == TransferEquipment.NONE else UNSURE


def answers_given(asked: Asked, *, need_by: str) -> dict[str, Given]:
    """The answers of an ordinary request, so that desk, link and quote go on from them."""
    said: dict[str, Any] = {
        "application": "emergency",
        "came_by": EXPRESS,
        "need_by": need_by,
        "facility": FACILITIES.get(asked.facility_kind, "store"),
        "life_support": asked.life_support,
        "feeds_building": "yes",
        "transfer_equipment": transfer_answer(asked.transfer_equipment),
        "supply": asked.supply,
        "zip": asked.zip,
        "directions": asked.place,
        "hire_start": need_by[:10],
        "hire_end": UNSURE,
        "hours_per_day": "24",
        "company": asked.company,
        "contact_name": asked.contact_name,
        "phone": asked.phone,
        "email": asked.email,
    }
    return {key: _given(value) for key, value in said.items() if value}


def _given(value: str) -> Given:
    return Given(unsure=True) if value == UNSURE else Given(value)


def panel_of(asked: Asked) -> dict[str, Any]:
    """The main panel as a load; its plate is unsure where neither load nor breaker is known."""
    figure = asked.load or (f"{asked.main_breaker_a} A" if asked.main_breaker_a else "")
    plate = f"{figure} {PLATES.get(asked.supply, '')}".strip() if figure else UNSURE
    return {"name": "Main panel", "kind": "panel", "quantity": 1, "nameplate": plate}


def is_life_safety(rank: int, facility_kind: str, life_support: str = "no") -> bool:
    """Whether a life may depend on it: by its rank, by its kind, or as it was answered."""
    by_kind = FACILITIES.get(facility_kind) in LIFE_SAFETY_FACILITIES
    return rank == Rank.LIFE_SAVING or by_kind or life_support != "no"
