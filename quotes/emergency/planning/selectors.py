"""Reading what a plan depends on: needs, units, yards, choices, and the plan in force."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import Prefetch, Q, QuerySet

from quotes.bookings.selectors import Hold, bookings_overlapping
from quotes.emergency.allocation import Option
from quotes.emergency.needs import NOT_SIZED
from quotes.emergency.planning.situation import (
    ChoiceRow,
    CombinedRow,
    NeedRow,
    Roads,
    Situation,
    UnitRow,
    YardRow,
)
from quotes.models import (
    Booking,
    Branch,
    ChoiceKind,
    Combined,
    Delivery,
    EmergencyEvent,
    EmergencyPlan,
    Need,
    NeedState,
    PlanChoice,
    PlanState,
    Unit,
    UnitState,
)
from sizing.places import PlaceRefused, great_circle_km, place

Document = dict[str, Any]
OPEN = (NeedState.NEEDED, NeedState.PROMISED)  # a plan may still serve these otherwise
UNDER_WAY = (NeedState.ON_THE_WAY, NeedState.RUNNING)
PERSON_FIRST = "A person looks at it first."


def key_of(need: Need | int) -> str:
    """A need's key inside a plan: its own is unique among open needs only."""
    return str(need if isinstance(need, int) else need.pk)


def plan_in_force(event: EmergencyEvent) -> EmergencyPlan | None:
    """The plan that trucks drive by."""
    return EmergencyPlan.objects.filter(event=event, state=PlanState.IN_FORCE).first()


def deliveries_of(plan: EmergencyPlan | None) -> list[Delivery]:
    """A plan's deliveries with their needs, in the order in which they leave."""
    if plan is None:
        return []
    needs = Prefetch("needs", Need.objects.order_by("rank", "need_by", "pk"))
    found = Delivery.objects.filter(plan=plan).select_related("unit__set_type", "branch")
    return list(found.prefetch_related(needs).order_by("depart_at", "pk"))


def under_way(deliveries: Iterable[Delivery]) -> list[Delivery]:
    """Deliveries that have left: no later plan takes them back."""
    return [d for d in deliveries if any(need.state in UNDER_WAY for need in d.needs.all())]


@dataclass(frozen=True, slots=True)
class Seen:
    """A situation with the rows it was read from."""

    situation: Situation
    event: EmergencyEvent
    needs: tuple[Need, ...]
    in_force: EmergencyPlan | None
    before: tuple[Delivery, ...]
    kept: tuple[Delivery, ...]


def open_needs(event: EmergencyEvent) -> list[Need]:
    """Needs a plan may serve or change, the most pressing first."""
    found = Need.objects.filter(event=event, state__in=OPEN).select_related("site")
    return list(found.order_by("rank", "need_by", "pk"))


def seen(*, event: EmergencyEvent, combined: Iterable[Combined], now: datetime) -> Seen:
    """Everything a plan of an event depends on, as it is now."""
    needs = open_needs(event)
    in_force = plan_in_force(event)
    before = deliveries_of(in_force)
    kept = under_way(before)
    branches = branches_in_reach(needs)
    units = units_for(event=event, branches=branches, kept=kept, now=now)
    on_road = _on_road(kept, now)
    situation = Situation(
        now=now,
        needs=tuple(_need_row(need) for need in needs),
        units=tuple(units),
        yards=tuple(_yard_row(branch, on_road.get(branch.pk, ())) for branch in branches),
        combined=tuple(_combined_row(row) for row in combined),
        choices=tuple(_choice_row(row) for row in choices_of(event)),
        before=_single_units(before, kept),
        roads=roads(),
    )
    return Seen(situation, event, tuple(needs), in_force, tuple(before), tuple(kept))


def roads() -> Roads:
    return Roads(
        slot_h=settings.EMERGENCY_SLOT_H,
        horizon_h=settings.EMERGENCY_HORIZON_H,
        hookup_h=settings.EMERGENCY_HOOKUP_H,
        road_km_h=settings.EMERGENCY_ROAD_KM_H,
    )


def choices_of(event: EmergencyEvent) -> list[PlanChoice]:
    """Pins and bans that stand."""
    found = PlanChoice.objects.filter(event=event, active=True)
    return list(found.select_related("need", "unit__set_type", "by"))


def position(need: Need) -> tuple[float, float] | None:
    """Where a need is, in degrees; of its ZIP where it has no coordinates of its own."""
    if need.latitude is not None and need.longitude is not None:
        return float(need.latitude), float(need.longitude)
    zip_code = str(need.requirement.get("site", {}).get("zip") or "")
    try:
        found = place(zip_code)
    except PlaceRefused:
        return None
    return found.latitude_deg, found.longitude_deg


def options_from(documents: Iterable[Document]) -> tuple[Option, ...]:
    """Options as they are stored, for the allocation."""
    return tuple(
        Option(row["set_code"], int(row.get("count", 1)), float(row.get("share", 1.0)))
        for row in documents
    )


def _need_row(need: Need) -> NeedRow:
    where = position(need)
    waits = ""
    if need.waits_for_person:
        waits = need.person_reason or PERSON_FIRST
    elif need.sized_at is None and not need.options:
        waits = NOT_SIZED
    return NeedRow(
        key=key_of(need),
        name=need.name,
        rank=need.rank,
        need_by=need.need_by,
        latitude_deg=where[0] if where else None,
        longitude_deg=where[1] if where else None,
        options=options_from(need.options),
        waits=waits,
        accepted_at=need.accepted_at,
    )


def _combined_row(row: Combined) -> CombinedRow:
    needs = sorted(row.needs.all(), key=lambda need: (need.rank, need.need_by, need.pk))
    return CombinedRow(tuple(key_of(need) for need in needs), options_from(row.options))


def _choice_row(row: PlanChoice) -> ChoiceRow:
    pinned = row.kind == ChoiceKind.PIN
    return ChoiceRow(key_of(row.need_id), row.unit.number, pinned, row.reason)


def _single_units(before: Iterable[Delivery], kept: Sequence[Delivery]) -> dict[str, str]:
    """The one unit of each need that has one and has not left."""
    units: defaultdict[str, list[str]] = defaultdict(list)
    left = {delivery.pk for delivery in kept}
    for delivery in before:
        if delivery.pk not in left:
            for need in delivery.needs.all():
                units[key_of(need)].append(delivery.unit.number)
    return {key: numbers[0] for key, numbers in units.items() if len(numbers) == 1}


# ---- yards -------------------------------------------------------------------------------------


def branches_in_reach(needs: Sequence[Need]) -> list[Branch]:
    """Branches near enough to at least one need, by code."""
    places = [where for need in needs if (where := position(need))]
    return [
        branch
        for branch in Branch.objects.order_by("code")
        if any(_reaches(branch, where) for where in places)
    ]


def _reaches(branch: Branch, where: tuple[float, float]) -> bool:
    reach_km: float = settings.EMERGENCY_REACH_KM
    return great_circle_km(*branch_position(branch), *where) <= reach_km


def branch_position(branch: Branch) -> tuple[float, float]:
    found = place(branch.zip)
    return found.latitude_deg, found.longitude_deg


def _yard_row(branch: Branch, back_at: Iterable[datetime]) -> YardRow:
    latitude_deg, longitude_deg = branch_position(branch)
    back = tuple(sorted(back_at))
    return YardRow(branch.code, branch.name, latitude_deg, longitude_deg, branch.trucks, back)


def _on_road(kept: Iterable[Delivery], now: datetime) -> dict[int, list[datetime]]:
    """When the trucks that have left are back in their yards, by branch."""
    away: defaultdict[int, list[datetime]] = defaultdict(list)
    for delivery in kept:
        back_at = truck_back(delivery)
        if back_at > now:
            away[delivery.branch_id].append(back_at)
    return away


def truck_back(delivery: Delivery) -> datetime:
    """When the truck is in its yard again: it leaves once the set runs."""
    running = [n.state_at for n in delivery.needs.all() if n.state == NeedState.RUNNING]
    return max(running, default=delivery.arrive_at) + travel(delivery)


def travel(delivery: Delivery) -> timedelta:
    """One way between yard and place."""
    return timedelta(hours=float(delivery.distance_km) / settings.EMERGENCY_ROAD_KM_H)


# ---- units -------------------------------------------------------------------------------------


def event_hold(event: EmergencyEvent, branch: Branch, now: datetime) -> Hold:
    """The days a unit is held for an event: till its expected end, else some days."""
    zone = ZoneInfo(branch.timezone)
    today = now.astimezone(zone).date()
    days = timedelta(days=settings.EMERGENCY_HOLD_DAYS)
    ends_at = event.expected_end or now + days
    ends_on = max(today, ends_at.astimezone(zone).date())
    return Hold(today, ends_on, ends_on + timedelta(days=1 + branch.turnaround_days))


def units_for(
    *, event: EmergencyEvent, branches: Sequence[Branch], kept: Iterable[Delivery], now: datetime
) -> list[UnitRow]:
    """Units that may go out for an event within the plan's horizon, and from when."""
    away = {delivery.unit_id for delivery in kept}
    back = _coming_back(event, now)
    found: list[UnitRow] = []
    for branch in branches:
        hold = event_hold(event, branch, now)
        booked = _booked(event, hold)
        units = units_in_service([branch]).exclude(pk__in=away)
        for unit in units.select_related("set_type").order_by("pk"):
            free_from = _free_from(booked.get(unit.pk, []), branch, now)
            if free_from is not None:
                moment = max(free_from, back.get(unit.pk, now))
                found.append(UnitRow(unit.number, unit.set_type.code, branch.code, moment))
    return found


def units_in_service(branches: Iterable[Branch]) -> QuerySet[Unit]:
    """Units of these yards that a plan could send, were they free."""
    return Unit.objects.filter(
        branch__in=branches, state=UnitState.IN_SERVICE, set_type__offered=True
    )


def _booked(event: EmergencyEvent, hold: Hold) -> dict[int, list[tuple[date, date]]]:
    """Days that units are held for others, by unit; what this event may still change is not."""
    ours = Q(need__event=event, need__state__in=OPEN)
    found: defaultdict[int, list[tuple[date, date]]] = defaultdict(list)
    bookings = bookings_overlapping(hold).exclude(ours)
    for unit_id, starts_on, free_on in bookings.values_list("unit", "starts_on", "free_on"):
        found[unit_id].append((starts_on, free_on))
    return found


def _free_from(
    booked: Sequence[tuple[date, date]], branch: Branch, now: datetime
) -> datetime | None:
    """The first moment a unit may leave; ``None`` where it does not come free in time to stay."""
    if not booked:
        return now
    if len(booked) > 1:
        return None
    ((starts_on, free_on),) = booked
    zone = ZoneInfo(branch.timezone)
    if starts_on > now.astimezone(zone).date():
        return None  # promised to somebody while the event lasts
    morning = datetime.combine(free_on, time(), tzinfo=zone)
    horizon = now + timedelta(hours=settings.EMERGENCY_HORIZON_H)
    return max(now, morning) if morning <= horizon else None


def _coming_back(event: EmergencyEvent, now: datetime) -> dict[int, datetime]:
    """When units that are needed no more at a place are in their yards, filled and checked."""
    done = Delivery.objects.filter(
        needs__event=event,
        needs__state__in=(NeedState.DONE, NeedState.WITHDRAWN),
        needs__state_at__gt=now - timedelta(days=2),
        booking__isnull=False,
    )
    found: dict[int, datetime] = {}
    for delivery in done.prefetch_related("needs").distinct():
        left_at = max(need.state_at for need in delivery.needs.all())
        ready = left_at + travel(delivery) + timedelta(hours=settings.EMERGENCY_RETURN_H)
        found[delivery.unit_id] = max(ready, found.get(delivery.unit_id, ready))
    return found


def bookings_of_event(event: EmergencyEvent) -> list[Booking]:
    """What stands in the books for an event."""
    found = Booking.objects.filter(need__event=event, cancelled_at=None)
    return list(found.select_related("unit", "need"))
