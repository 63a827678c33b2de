"""Events as they go: opened, needs taken in and moved, sets that fail and come back, closed."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F

from intake.events.services import event_record
from intake.requests.errors import VersionConflict
from quotes.emergency.moves import MOVES, need_move
from quotes.emergency.needs import needs_adopt
from quotes.emergency.planning.errors import ChoiceRefused, EventIsClosed, MoveNotAllowed
from quotes.emergency.planning.selectors import UNDER_WAY, plan_in_force
from quotes.models import (
    OPEN_NEED_STATES,
    Booking,
    Delivery,
    EmergencyEvent,
    EventState,
    Need,
    NeedState,
    Unit,
    UnitState,
)

LEAVES = (NeedState.DONE, NeedState.WITHDRAWN, NeedState.NEEDED)  # the need's set is given back


@transaction.atomic
def event_open(
    *,
    code: str,
    name: str,
    jurisdiction: str,
    expected_end: datetime | None,
    actor: User | None,
    now: datetime,
) -> EmergencyEvent:
    """Open an event, and take in the needs of its place that wait already."""
    event = EmergencyEvent(
        code=code.strip().upper(),
        name=name.strip(),
        jurisdiction=jurisdiction.strip(),
        opened_at=now,
        opened_by=actor,
        expected_end=expected_end,
    )
    event.full_clean(exclude=["opened_by"])
    event.save(force_insert=True)
    event_record(kind="emergency_opened", now=now, actor=actor or "system", subject=event.code)
    needs_adopt(event=event)
    return event


@transaction.atomic
def event_close(*, event_id: int, actor: User, now: datetime) -> None:
    """Close an event once none of its needs is open."""
    event = EmergencyEvent.objects.select_for_update().get(pk=event_id)
    left = Need.objects.filter(event=event, state__in=OPEN_NEED_STATES).count()
    if left:
        raise ChoiceRefused(f"{left} needs are still open; move them to done or withdrawn first.")
    if EmergencyEvent.objects.filter(pk=event_id, state=EventState.OPEN).update(
        state=EventState.CLOSED, closed_at=now
    ):
        event_record(kind="emergency_closed", now=now, actor=actor, subject=event.code)


@transaction.atomic
def need_take_in(*, event_id: int, need_id: int) -> bool:
    """Give an open event a need that has none; say whether this did it."""
    event = EmergencyEvent.objects.select_for_update().get(pk=event_id)
    if event.state != EventState.OPEN:
        raise EventIsClosed
    found = Need.objects.filter(pk=need_id, event=None, state__in=OPEN_NEED_STATES)
    return bool(found.update(event=event, version=F("version") + 1))


@transaction.atomic
def need_state_set(
    *, need_id: int, target: str, version: int | None, actor: User, now: datetime
) -> None:
    """Move a need on the board; what held a set for it follows.

    1. Only from where the rep saw it. 2. Under way only with a delivery of the plan in force.
    3. A need that is over, or needed again, gives its set back.
    """
    need = Need.objects.select_related("event").select_for_update(of=("self",)).get(pk=need_id)
    if version is not None and need.version != version:
        raise VersionConflict
    if target not in MOVES[NeedState(need.state)] or target == NeedState.PROMISED:
        raise MoveNotAllowed
    delivery = delivery_of(need)
    if target in UNDER_WAY and delivery is None:
        raise MoveNotAllowed("No set is promised to it by the plan in force.")
    if target in LEAVES:
        _set_give_back(need, now)
    need_move(need_id=need_id, origin=need.state, target=target, now=now)
    event_record(
        kind="need_moved",
        now=now,
        actor=actor,
        subject=need.name,
        before=str(need.get_state_display()),
        after=str(NeedState(target).label),
    )


def delivery_of(need: Need) -> Delivery | None:
    """The delivery of the plan in force to a need."""
    if need.event is None:
        return None
    plan = plan_in_force(need.event)
    found = Delivery.objects.filter(plan=plan, needs=need).select_related("unit", "branch")
    return found.first() if plan is not None else None


def _set_give_back(need: Need, now: datetime) -> None:
    """End what holds sets for a need, unless another need at the same set goes on."""
    if need.event is None:
        return
    plan = plan_in_force(need.event)
    deliveries = Delivery.objects.filter(plan=plan, needs=need, booking__isnull=False)
    for delivery in deliveries.select_related("booking", "branch") if plan else ():
        assert delivery.booking is not None
        others = delivery.needs.exclude(pk=need.pk).filter(state__in=OPEN_NEED_STATES)
        if other := others.first():
            Booking.objects.filter(pk=delivery.booking.pk).update(need=other)
        elif need.state in UNDER_WAY:
            booking_end(delivery.booking, zone=delivery.branch.timezone, now=now)
        else:
            Delivery.objects.filter(pk=delivery.pk).update(booking=None)
            Booking.objects.filter(pk=delivery.booking.pk).update(cancelled_at=now)


def booking_end(booking: Booking, *, zone: str, now: datetime) -> None:
    """Let a unit that was out go out again today.

    A booking holds whole days. In an emergency a set that comes back goes out again the same day,
    so the hold ends with yesterday, or is cancelled where it began today; the hours that the set
    ran are in the site's record, not in its bookings.
    """
    today = now.astimezone(ZoneInfo(zone)).date()
    if booking.starts_on >= today:
        Booking.objects.filter(pk=booking.pk).update(cancelled_at=now)
    else:
        yesterday = today - timedelta(days=1)
        Booking.objects.filter(pk=booking.pk).update(ends_on=yesterday, free_on=today)


@transaction.atomic
def unit_fail(*, number: str, reason: str, actor: User, now: datetime) -> None:
    """Take a set out of service; the needs it served are needed again."""
    if not reason.strip():
        raise ChoiceRefused("Say what is wrong with the set.")
    unit = Unit.objects.select_for_update().get(number=number)
    failed = Unit.objects.filter(pk=unit.pk, state=UnitState.IN_SERVICE)
    if not failed.update(state=UnitState.WORKSHOP, note=reason.strip()[:300]):
        raise ChoiceRefused(f"{number} is not in service any more.")
    event_record(
        kind="emergency_unit_failed", now=now, actor=actor, subject=number, reason=reason.strip()
    )
    needs = Need.objects.filter(
        deliveries__unit=unit,
        deliveries__plan__state="in_force",
        state__in=(NeedState.PROMISED, *UNDER_WAY),
    )
    for need in needs.distinct():
        need_state_set(need_id=need.pk, target=NeedState.NEEDED, version=None, actor=actor, now=now)


@transaction.atomic
def unit_back(*, number: str, actor: User, now: datetime) -> None:
    """Put a repaired set back in service."""
    repaired = Unit.objects.filter(number=number, state=UnitState.WORKSHOP)
    if not repaired.update(state=UnitState.IN_SERVICE, note=""):
        raise ChoiceRefused(f"{number} is not in the workshop.")
    event_record(kind="emergency_unit_back", now=now, actor=actor, subject=number)
