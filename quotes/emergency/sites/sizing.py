"""Standing sites sized ahead: again whenever the fleet, the tables or the program change."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Exists, IntegerField, OuterRef
from django.db.models.fields.json import KT
from django.db.models.functions import Cast

from intake.models import OutboxMessage
from intake.outbox.services import outbox_put
from quotes.emergency.express.asked import PLATES, UNSURE, transfer_answer
from quotes.emergency.fitness import against_version, fitness
from quotes.fleet.selectors import fleet_for_sizing
from quotes.models import StandingSite
from sizing.errors import DocumentRefused

SIZE_TOPIC = "quotes.size_site"
A_SWEEP = 200
Document = dict[str, Any]


def site_requirement(site: StandingSite) -> Document:
    """A site as the method reads it."""
    place: Document = {
        "zip": site.zip,
        "feeds_building": True,
        "transfer_equipment": {"yes": True, "no": False}.get(
            transfer_answer(site.transfer_equipment), UNSURE
        ),
        "hours_per_day": 24,
        "refuel_every": "24 h",  # a round a day is what an emergency's fuel plan counts on
    }
    for name, metres in (("altitude", site.altitude_m), ("lead_length", site.lead_length_m)):
        if metres is not None:
            place[name] = f"{metres} m"
    supply = site.supply or UNSURE
    loads = [_without_priority(load) for load in site.loads] or [_panel(site)]
    return {"application": "emergency", "supply": supply, "site": place, "loads": loads}


def _without_priority(load: Document) -> Document:
    return {name: value for name, value in load.items() if name != "priority"}


def _panel(site: StandingSite) -> Document:
    """Where no load is listed, all that the main breaker lets through."""
    plate = UNSURE
    if site.main_breaker_a:
        plate = f"{site.main_breaker_a} A {PLATES.get(site.supply, '')}".strip()
    return {"name": "Main panel", "kind": "panel", "quantity": 1, "nameplate": plate}


def site_priorities(site: StandingSite) -> list[int]:
    """The priorities of its loads, in their order."""
    return [int(load.get("priority", 1)) for load in site.loads] or [1]


def site_size(*, site_id: int, now: datetime) -> bool:
    """Size one site; says whether it was there as it had been read. Takes seconds."""
    site = StandingSite.objects.get(pk=site_id)
    try:
        found = fitness(
            site_requirement(site),
            fleet_for_sizing(),
            priorities=site_priorities(site),
            partial=site.partial_load_ok,
        )
        kept = {
            "sizing": {**found.summary, "person": found.person},
            "options": found.options,
            "findings": found.findings,
            "sized_against": found.against,
        }
    except DocumentRefused as refusal:
        said = [f"{problem.path}: {problem.message}" for problem in refusal.problems]
        kept = {
            "sizing": {"outcome": "needs_person", "sets": [], "person": said},
            "options": [],
            "findings": [],
            "sized_against": against_version(fleet_for_sizing()),
        }
    hit = StandingSite.objects.filter(pk=site_id, version=site.version).update(**kept, sized_at=now)
    return hit == 1


@transaction.atomic
def sites_size_due(*, now: datetime) -> int:
    """Hand over the sites that were sized against something else, a batch at a time."""
    current = against_version(fleet_for_sizing())
    waiting = OutboxMessage.objects.filter(topic=SIZE_TOPIC, done_at=None, parked_at=None).annotate(
        site=Cast(KT("payload__site_id"), IntegerField())
    )
    due = (
        StandingSite.objects.filter(archived_at=None)
        .exclude(sized_against=current)
        .filter(~Exists(waiting.filter(site=OuterRef("pk"))))
        .order_by("pk")
        .values_list("pk", flat=True)[:A_SWEEP]
    )
    keys = list(due)
    for key in keys:
        outbox_put(topic=SIZE_TOPIC, payload={"site_id": key}, now=now)
    return len(keys)
