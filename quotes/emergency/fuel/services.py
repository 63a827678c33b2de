"""A fuel plan made and stored whole, with its stops as rows."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Max

from intake.events.services import event_record
from intake.requests.errors import ServiceRefusal
from quotes.emergency.fuel.facts import Fuelled, FuelTerms, fuel_problem, fuelled, site_key, zone_of
from quotes.emergency.fuel.plan import Fill, FuelResult, fuel_plan
from quotes.emergency.fuel.rounds import FuelProblem
from quotes.models import EmergencyEvent, FuelPlan, FuelStop

Document = dict[str, Any]


class NothingToFuel(ServiceRefusal):
    code = "nothing_to_fuel"
    sentence = "No set is promised, on the way or running by the plan in force: nothing to fuel."


class NoFuelTruck(ServiceRefusal):
    code = "no_fuel_truck"
    status_code = 422
    sentence = "Give at least one fuel truck, and its capacity."


def fuel_plan_make(
    *, event_id: int, terms: FuelTerms, actor: User | None, now: datetime
) -> FuelPlan:
    """Plan the rounds of an event and keep them.

    1. Read sets, tanks and loads of the plan in force. 2. Route outside any transaction.
    3. Store the question, the answer and its stops in one.
    """
    event, now = EmergencyEvent.objects.get(pk=event_id), next_minute(now)
    sets, lost = fuelled(event, now)
    if not sets:
        raise NothingToFuel
    if not any(one.count for one in terms.trucks):
        raise NoFuelTruck
    problem = fuel_problem(sets, terms, now)
    found = fuel_plan(problem)
    return _stored(
        event=event, problem=problem, found=found, sets=sets,
        lost=[need.name for need in lost], zone=zone_of(terms), actor=actor, now=now,
    )  # fmt: skip


def next_minute(now: datetime) -> datetime:
    """The next whole minute: a round that goes out at six is told as six, not as 5:59."""
    return (now + timedelta(seconds=60, microseconds=-1)).replace(second=0, microsecond=0)


@transaction.atomic
def _stored(
    *,
    event: EmergencyEvent,
    problem: FuelProblem,
    found: FuelResult,
    sets: list[Fuelled],
    lost: list[str],
    zone: str,
    actor: User | None,
    now: datetime,
) -> FuelPlan:
    EmergencyEvent.objects.select_for_update().get(pk=event.pk)
    last = FuelPlan.objects.filter(event=event).aggregate(last=Max("number"))["last"] or 0
    plan = FuelPlan.objects.create(
        event=event,
        number=last + 1,
        made_at=now,
        made_by=actor,
        problem=asdict(problem),
        result={**result_document(problem, found, sets, lost, now), "zone": zone},
    )
    FuelStop.objects.bulk_create(stop_rows(plan, found, sets, now))
    event_record(
        kind="fuel_planned", now=now, actor=actor or "system", subject=event.code,
        number=plan.number, stops=sum(1 for fill in found.fills if fill.site),
        short=len(found.short),
    )  # fmt: skip
    return plan


def stop_rows(
    plan: FuelPlan, found: FuelResult, sets: list[Fuelled], now: datetime
) -> list[FuelStop]:
    """The stops of each truck in the order of their hours; at a site the note names the set."""
    by_key = {site_key(one.need, one.unit): one for one in sets}
    rows: list[FuelStop] = []
    position: dict[str, int] = {}
    for fill in sorted(found.fills, key=lambda f: (f.truck, f.arrive_min)):
        position[fill.truck] = position.get(fill.truck, 0) + 1
        one = by_key[fill.site] if fill.site else None
        rows.append(
            FuelStop(
                plan=plan,
                position=position[fill.truck],
                truck=fill.truck,
                need=one.need if one else None,
                arrive_at=now + timedelta(minutes=fill.arrive_min),
                leave_at=now + timedelta(minutes=fill.leave_min),
                fuel_l=Decimal(str(round(fill.fuel_l, 1))),
                note=one.unit.number if one else "",
            )
        )
    return rows


def result_document(
    problem: FuelProblem,
    found: FuelResult,
    sets: list[Fuelled],
    lost: list[str],
    now: datetime,
) -> Document:
    """What pages and prints tell besides the stops."""
    names = {one.site.key: one for one in sets}
    return {
        "sets": [_set_document(problem, one, found.fills) for one in sets],
        "short": [
            {
                "need": names[short.site].need.name,
                "unit": names[short.site].unit.number,
                "reserve_at": _at(now, short.reserve_min),
                "dry_at": _at(now, short.dry_min),
                "filled_at": _at(now, short.filled_min),
            }
            for short in found.short
        ],
        "lost": lost,
        "burn_l_day": round(sum(one.mean_l_h for one in sets) * 24, 1),
        "planned_l_day": round(found.burn_l_day, 1),
        "delivered_l": round(sum(fill.fuel_l for fill in found.fills if fill.site), 1),
        "distance_km": round(found.distance_km, 1),
        "until": _at(now, problem.rounds[-1].last_min if problem.rounds else 0),
    }


def _set_document(problem: FuelProblem, one: Fuelled, fills: tuple[Fill, ...]) -> Document:
    site = one.site
    usable = site.tank_l - problem.reserve_l(site)
    return {
        "need": one.need.name,
        "unit": one.unit.number,
        "code": one.unit.set_type.code,
        "mean_l_h": round(one.mean_l_h, 2),
        "most_l_h": round(site.burn_l_h, 2),
        "tank_l": round(site.tank_l, 1),
        "level_l": round(site.level_l, 1),
        "reserve_l": round(problem.reserve_l(site), 1),
        "lasts_h": round(usable / site.burn_l_h, 1) if site.burn_l_h else None,
        "visits": sum(1 for fill in fills if fill.site == site.key),
        "why": one.why,
    }


def _at(now: datetime, minute: int | None) -> str | None:
    return None if minute is None else (now + timedelta(minutes=minute)).isoformat()
