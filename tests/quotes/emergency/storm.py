"""A small emergency for the tests of planning: one yard, some sets, masts that need power."""

from __future__ import annotations

import json
from datetime import timedelta
from functools import lru_cache
from typing import Any

import demo_fixtures
from quotes.demo.ice_storm import storm_document
from quotes.emergency.event.services import event_open
from quotes.emergency.fitness import fitness
from quotes.fleet.services import fleet_import
from quotes.models import Branch, EmergencyEvent, Need, SetType, Unit
from sizing.fleet import read_fleet
from tests.quotes.cast import NOW

TYPES = ("T25", "T40")
YARD = {
    "code": "STORM",
    "name": "Storm yard",
    "zip": "13617",
    "state": "NY",
    "timezone": "America/New_York",
    "phone": "(315) 555-0131",
    "email": "storm@tamarack.example",
    "turnaround_days": 0,
    "trucks": 3,
}


def requirement() -> dict[str, Any]:
    story = storm_document()
    return {
        "application": "emergency",
        "supply": story["templates"]["mast"]["supply"],
        "site": story["site"],
        "hire": {"start": NOW.date().isoformat(), "end": (NOW + timedelta(5)).date().isoformat()},
        "loads": story["templates"]["mast"]["loads"],
    }


@lru_cache(maxsize=1)
def options_text() -> str:
    """What passes at a mast, worked out once."""
    fleet = [one for one in read_fleet(demo_fixtures.fleet_path()) if one.code in TYPES]
    return json.dumps(fitness(requirement(), fleet).options)


def yard() -> Branch:
    fleet_import(text=demo_fixtures.fleet_path().read_text("utf-8"))
    return Branch.objects.create(**YARD)


def unit(number: str, branch: Branch, code: str = "T25") -> Unit:
    return Unit.objects.create(
        number=number, branch=branch, set_type=SetType.objects.get(code=code)
    )


def event(**more: Any) -> EmergencyEvent:
    said: dict[str, Any] = {
        "code": "STORM-1",
        "name": "Storm",
        "jurisdiction": "",
        "expected_end": NOW + timedelta(days=5),
        "actor": None,
        "now": NOW,
    }
    return event_open(**{**said, **more})


def need(storm: EmergencyEvent | None, key: str, *, rank: int = 2, **more: Any) -> Need:
    values: dict[str, Any] = {
        "name": key.replace("-", " ").title(),
        "facility_kind": "communications",
        "rank": rank,
        "rank_reason": "As the county ranks it.",
        "need_by": NOW + timedelta(hours=6),
        "latitude": "44.60",
        "longitude": "-75.20",
        "requirement": requirement(),
        "options": json.loads(options_text()),
        "sized_at": NOW,
        "transfer_equipment": "manual_switch",
        "contact_name": "Night desk",
        "night_phone": "(315) 555-0100",
        "state_at": NOW,
        "accepted_at": NOW,
        **more,
    }
    return Need.objects.create(event=storm, key=key, **values)
