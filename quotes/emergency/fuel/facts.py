"""What refuel rounds depend on, read from the plan in force: sets, tanks, loads, roads, days."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings

from quotes.emergency.fuel.rounds import FAR, FuelProblem, FuelSite, FuelTruck, Round, level_at
from quotes.emergency.planning.selectors import (
    branch_position,
    deliveries_of,
    plan_in_force,
    position,
)
from quotes.fleet.records import fleet_text
from quotes.models import Branch, Delivery, EmergencyEvent, FuelStop, Need, NeedState, Unit
from sizing.fleet import GeneratorSet, read_fleet
from sizing.fuel import burn_l_h

Document = dict[str, Any]
FUELLED = (NeedState.PROMISED, NeedState.ON_THE_WAY, NeedState.RUNNING)
MOST_DAYS = 7


@dataclass(frozen=True, slots=True)
class TruckTerms:
    """The trucks of one yard, all alike."""

    branch: Branch
    count: int
    capacity_l: int


@dataclass(frozen=True, slots=True)
class FuelTerms:
    """What the desk says of its fuel trucks: how many, how large, and their hours of the day."""

    trucks: tuple[TruckTerms, ...]
    first_hour: int
    last_hour: int
    days: int


@dataclass(frozen=True, slots=True)
class Fuelled:
    """One set at one need, with its burn around the clock and on average."""

    need: Need
    unit: Unit
    site: FuelSite
    mean_l_h: float
    why: str


def fuelled(event: EmergencyEvent, now: datetime) -> tuple[list[Fuelled], list[Need]]:
    """The sets of the plan in force that must be fuelled, and needs whose place is not known."""
    filled = last_fills(event, now)
    found: list[Fuelled] = []
    lost: list[Need] = []
    for delivery in deliveries_of(plan_in_force(event)):
        needs = [need for need in delivery.needs.all() if need.state in FUELLED]
        if not needs:
            continue
        where = position(needs[0])
        if where is None:
            lost.append(needs[0])
            continue
        found.append(_fuelled(event, delivery, needs[0], where, filled, now))
    return found, lost


def _fuelled(
    event: EmergencyEvent,
    delivery: Delivery,
    need: Need,
    where: tuple[float, float],
    filled: Mapping[tuple[int, str], datetime],
    now: datetime,
) -> Fuelled:
    """Full when it comes or when it was last filled; burnt down since at the hour of most load."""
    unit = delivery.unit
    set_ = set_of(unit)
    mean_l_h, most_l_h, why = burn_of(set_, unit.set_type.code, need.options)
    since = filled.get((need.pk, unit.number), _runs_from(delivery, need))
    starts = minutes(now, since)
    site = FuelSite(
        key=site_key(need, unit),
        name=need.name,
        rank=need.rank,
        latitude_deg=where[0],
        longitude_deg=where[1],
        burn_l_h=most_l_h,
        tank_l=set_.tank_l,
        level_l=set_.tank_l,
        starts_min=starts,
        ends_min=minutes(now, event.expected_end) if event.expected_end else FAR,
        unusable_l=set_.tank_l * (1 - set_.usable_tank_fraction),
    )
    return Fuelled(need, unit, _as_of_now(site), mean_l_h, why)


def _as_of_now(site: FuelSite) -> FuelSite:
    """A set that runs already, with what is left in its tank now."""
    if site.starts_min >= 0:
        return site
    left = level_at(site, site.level_l, site.starts_min, 0)
    return replace(site, level_l=left, starts_min=0)


def _runs_from(delivery: Delivery, need: Need) -> datetime:
    return need.state_at if need.state == NeedState.RUNNING else delivery.arrive_at


def site_key(need: Need, unit: Unit) -> str:
    """A set at a need: a pair of sets has two tanks."""
    return f"{need.pk}:{unit.number}"


def set_of(unit: Unit) -> GeneratorSet:
    """The unit's type as the method reads it."""
    (found,) = read_fleet(fleet_text([unit.set_type.record]))
    return found


def burn_of(
    set_: GeneratorSet, code: str, options: Iterable[Mapping[str, Any]]
) -> tuple[float, float, str]:
    """Litres an hour on average and at the hour of most load, and what that rests on.

    Without a sizing that passed, the set is taken to run at its prime rating around the clock. Of
    several ways to send the type (a pair, or one of it for part of the load) the thirstiest counts.
    """
    full_l_h = burn_l_h(set_, set_.prime_kw)
    own = [one for one in options if one.get("set_code") == code]
    if not own or not all(one.get("fuel_l_per_day") and one.get("load_percent") for one in own):
        return full_l_h, full_l_h, "no sizing on file: prime rating around the clock"
    mean_l_h = min(full_l_h, max(float(one["fuel_l_per_day"]) for one in own) / 24)
    percent = min(100.0, max(float(one["load_percent"]) for one in own))
    most_l_h = max(mean_l_h, burn_l_h(set_, set_.prime_kw * percent / 100))
    return mean_l_h, most_l_h, f"sized: at most {percent:.0f} % load"


def last_fills(event: EmergencyEvent, now: datetime) -> dict[tuple[int, str], datetime]:
    """When each set was last filled, as the newest fuel plan has it: its stops till now."""
    plan = event.fuel_plans.order_by("-number").first()
    if plan is None:
        return {}
    stops = FuelStop.objects.filter(plan=plan, need__isnull=False, leave_at__lte=now)
    return {(stop.need_id or 0, stop.note): stop.leave_at for stop in stops.order_by("leave_at")}


def minutes(now: datetime, moment: datetime) -> int:
    return int((moment - now).total_seconds() // 60)


def rounds(terms: FuelTerms, zone: ZoneInfo, now: datetime) -> tuple[Round, ...]:
    """The working days of the trucks from now on, by the clock of their yard."""
    found: list[Round] = []
    today = now.astimezone(zone).date()
    for ahead in range(terms.days + 1):
        day = today + timedelta(days=ahead)
        first = datetime.combine(day, time(terms.first_hour), zone)
        last = datetime.combine(day, time(0), zone) + timedelta(hours=terms.last_hour)
        begins, ends = max(0, minutes(now, first)), minutes(now, last)
        if ends > begins and len(found) < terms.days:
            found.append(Round(len(found) + 1, begins, ends))
    return tuple(found)


def trucks(terms: FuelTerms) -> tuple[FuelTruck, ...]:
    found = []
    for one in terms.trucks:
        latitude_deg, longitude_deg = branch_position(one.branch)
        found += [
            FuelTruck(
                f"{one.branch.code} fuel truck {number + 1}",
                one.branch.code,
                latitude_deg,
                longitude_deg,
                one.capacity_l,
            )
            for number in range(one.count)
        ]
    return tuple(found)


def zone_of(terms: FuelTerms) -> str:
    """The clock the trucks go by: their first yard's."""
    return terms.trucks[0].branch.timezone if terms.trucks else settings.TIME_ZONE


def fuel_problem(sets: Sequence[Fuelled], terms: FuelTerms, now: datetime) -> FuelProblem:
    """The whole question, with the roads of the emergency's settings."""
    return FuelProblem(
        sites=tuple(one.site for one in sets),
        trucks=trucks(terms),
        rounds=rounds(terms, ZoneInfo(zone_of(terms)), now),
        road_km_h=settings.EMERGENCY_ROAD_KM_H,
    )
