"""The ice storm's yards, sets and needs, from its file."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from quotes.emergency.fitness import Fitness, fitness
from quotes.emergency.needs import person_reasons
from quotes.emergency.ranks.selectors import rank_in
from quotes.fleet.selectors import sets_by_code
from quotes.models import Branch, EmergencyEvent, Need, SetType, Unit

Document = dict[str, Any]


def yards_load(document: Document) -> None:
    """Two yards with their sets; loading twice changes nothing."""
    for yard in document["yards"]:
        Branch.objects.update_or_create(code=yard["code"], defaults=yard)
    types = {one.code: one for one in SetType.objects.all()}
    branches = {one.code: one for one in Branch.objects.all()}
    for row in document["units"]:
        Unit.objects.get_or_create(
            number=row["number"],
            defaults={
                "set_type": types[row["set_type"]],
                "branch": branches[row["branch"]],
                "engine_hours": row["engine_hours"],
            },
        )


def templates_sized(
    document: Document, event: EmergencyEvent, start: datetime
) -> dict[str, Fitness]:
    """What passes at each kind of site, sized once for all sites of the kind."""
    return {
        name: _sized(document, template, event, start)
        for name, template in document["templates"].items()
    }


def needs_load(
    document: Document,
    event: EmergencyEvent,
    sized: dict[str, Fitness],
    *,
    start: datetime,
    now: datetime,
) -> None:
    """The needs that have come in by now, one a site; those that are there stay."""
    there = set(Need.objects.filter(event=event).values_list("key", flat=True))
    for site in document["sites"]:
        came_in = start + timedelta(hours=site.get("arrives_h", 0)) <= now
        if came_in and site["key"] not in there:
            _need_load(document, site, event, start, sized[site["template"]])


def _requirement(
    document: Document, template: Document, end: datetime | None, start: datetime
) -> Document:
    return {
        "application": "emergency",
        "supply": template["supply"],
        "site": document["site"],
        "hire": {
            "start": start.date().isoformat(),
            "end": (end or start).date().isoformat(),
        },
        "loads": template["loads"],
    }


def _sized(
    document: Document, template: Document, event: EmergencyEvent, start: datetime
) -> Fitness:
    wanted = _requirement(document, template, event.expected_end, start)
    loads = [{k: v for k, v in load.items() if k != "priority"} for load in wanted["loads"]]
    priorities = [load.get("priority", 1) for load in wanted["loads"]]
    codes = {row["set_type"] for row in document["units"]}
    fleet = [one for one in sets_by_code().values() if one.code in codes]
    partial = len(set(priorities)) > 1
    return fitness({**wanted, "loads": loads}, fleet, priorities=priorities, partial=partial)


def _need_load(
    document: Document, site: Document, event: EmergencyEvent, start: datetime, found: Fitness
) -> None:
    ranked = rank_in(site["facility_kind"])
    accepted_at = start + timedelta(hours=site.get("arrives_h", 0))
    life_safety = site.get("life_safety", False)
    transfer = site.get("transfer_equipment", "manual_switch")
    reasons = person_reasons(life_safety=life_safety, transfer_equipment=transfer)
    template = document["templates"][site["template"]]
    need = Need(
        event=event,
        key=site["key"],
        name=site["name"],
        facility_kind=site["facility_kind"],
        rank=ranked.rank,
        rank_reason=ranked.reason,
        need_by=start + timedelta(hours=site["need_by_h"]),
        latitude=str(site["latitude"]),
        longitude=str(site["longitude"]),
        requirement=_requirement(document, template, event.expected_end, start),
        options=_options(site, found),
        findings=found.findings,
        sized_at=accepted_at,
        sized_against=found.against,
        life_safety=life_safety,
        transfer_equipment=transfer,
        contact_name=f"Night desk, {site['name']}"[:120],
        night_phone="(315) 555-0100",
        state_at=accepted_at,
        needs_person=bool(reasons or found.person),
        person_reason=" ".join([*reasons, *found.person]),
        accepted_at=accepted_at,
    )
    need.full_clean(exclude=["event", "site", "request"])
    need.save(force_insert=True)


def _options(site: Document, found: Fitness) -> list[Document]:
    partial = site.get("partial_load_ok", False)
    return [option for option in found.options if partial or option["share"] == 1]
