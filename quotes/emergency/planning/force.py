"""Putting a plan in force: everything checked once more, the units booked, the needs promised."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q

from intake.events.services import event_record
from quotes.bookings.errors import JustTaken
from quotes.bookings.services import bookings_insert, taken_refused, units_lock
from quotes.emergency.moves import need_move
from quotes.emergency.planning.errors import EventIsClosed, PlanOvertaken
from quotes.emergency.planning.recheck import Checked, checked
from quotes.emergency.planning.selectors import (
    OPEN,
    UNDER_WAY,
    choices_of,
    deliveries_of,
    event_hold,
    plan_in_force,
    units_for,
)
from quotes.models import (
    Booking,
    ChoiceKind,
    Delivery,
    EmergencyEvent,
    EmergencyPlan,
    EventState,
    Need,
    NeedState,
    PlanState,
)


def plan_put_in_force(*, plan_id: int, actor: User, now: datetime) -> None:
    """Drive by this plan from now on.

    1. Size every delivery again with the fleet of now, before anything is locked.
    2. Lock event and units. Refuse, with all that changed, if anything the plan rests on did.
    3. Give back what the plan before held and this one does not; keep what both hold; book the
       rest. All in one transaction: a unit that somebody else took undoes everything.
    4. Needs that get a set are promised, those that lost theirs are needed again.
    """
    plan = EmergencyPlan.objects.select_related("event").get(pk=plan_id)
    sent = [d for d in deliveries_of(plan) if not _left(d)]
    found = checked(sent)
    try:
        with transaction.atomic(), taken_refused():
            _put_in_force(plan, found, actor, now)
    except JustTaken as taken:
        raise PlanOvertaken(changes=[_taken_words(taken)]) from taken


def _put_in_force(plan: EmergencyPlan, found: Checked, actor: User, now: datetime) -> None:
    event = EmergencyEvent.objects.select_for_update().get(pk=plan.event_id)
    if event.state != EventState.OPEN:
        raise EventIsClosed
    before = plan_in_force(event)
    units_lock(numbers=_numbers([*deliveries_of(plan), *deliveries_of(before)]))
    earlier = deliveries_of(before)
    later = [one for one in deliveries_of(plan) if not _over(one, plan)]
    _refuse_overtaken(plan, before, earlier, later, found, now)
    _bookings_move(event, earlier, later, now)
    _needs_move(earlier, later, now)
    if before is not None:
        EmergencyPlan.objects.filter(pk=before.pk).update(state=PlanState.SUPERSEDED)
    done = EmergencyPlan.objects.filter(pk=plan.pk, state=PlanState.MADE)
    if done.update(state=PlanState.IN_FORCE, in_force_at=now) != 1:
        raise PlanOvertaken(changes=["Somebody put it in force, or replaced it, a moment ago."])
    event_record(
        kind="emergency_in_force",
        now=now,
        actor=actor,
        subject=event.code,
        number=plan.number,
        units=_numbers(later),
    )


def _numbers(deliveries: Sequence[Delivery]) -> list[str]:
    return sorted({delivery.unit.number for delivery in deliveries})


def _left(delivery: Delivery) -> bool:
    return any(need.state in UNDER_WAY for need in delivery.needs.all())


def _over(delivery: Delivery, plan: EmergencyPlan) -> bool:
    """Whether a set that was kept where it ran is needed there no more: nothing to refuse for."""
    kept = {unit for one in plan.result.get("kept", ()) for unit in one["units"]}
    states = {need.state for need in delivery.needs.all()}
    return delivery.unit.number in kept and not states & {*OPEN, *UNDER_WAY}


def _taken_words(taken: JustTaken) -> str:
    return f"{taken.data.get('unit', 'A unit')} was taken by somebody else a moment ago."


# ---- what may have changed ---------------------------------------------------------------------


def _refuse_overtaken(
    plan: EmergencyPlan,
    before: EmergencyPlan | None,
    earlier: Sequence[Delivery],
    later: Sequence[Delivery],
    found: Checked,
    now: datetime,
) -> None:
    """Refuse with everything that changed since the plan was made, all of it at once."""
    number = before.number if before else None
    problems = list(found.problems) + found.outdated()
    if plan.state != PlanState.MADE:
        problems.append("This plan was in force already, or is replaced.")
    if plan.result.get("against") != number:
        problems.append("Another plan was put in force since this one was made.")
    problems += _rank_problems(plan)
    kept = {(d.unit_id, need.pk) for d in earlier if _left(d) for need in d.needs.all()}
    for delivery in later:
        problems += _need_problems(delivery, kept)
    problems += _unit_problems(plan.event, earlier, later, now)
    problems += _choice_problems(plan, later)
    if problems:
        raise PlanOvertaken(changes=list(dict.fromkeys(problems)))


def _rank_problems(plan: EmergencyPlan) -> list[str]:
    """Needs whose rank was changed since: who comes first may be another now."""
    planned = {int(site["key"]): site["rank"] for site in plan.problem.get("sites", ())}
    needs = Need.objects.filter(pk__in=planned, state__in=OPEN).order_by("rank", "pk")
    return [
        f"{need.name} has rank {need.rank} now; the plan was made with rank {planned[need.pk]}."
        for need in needs
        if need.rank != planned[need.pk]
    ]


def _need_problems(delivery: Delivery, kept: set[tuple[int, int]]) -> list[str]:
    """What became of the needs since: done, gone elsewhere, or in want of a person."""
    found = []
    for need in delivery.needs.all():
        if need.state in UNDER_WAY and (delivery.unit_id, need.pk) not in kept:
            found.append(f"{need.name} is served by another set already.")
        elif need.state not in (*OPEN, *UNDER_WAY) and not _left(delivery):
            found.append(f"{need.name} is {need.get_state_display()}.")
        elif need.waits_for_person:
            found.append(f"{need.name} waits for a person.")
    return found


def _unit_problems(
    event: EmergencyEvent, earlier: Sequence[Delivery], later: Sequence[Delivery], now: datetime
) -> list[str]:
    """Units that cannot go: failed, sold, moved, or promised to somebody else."""
    kept = [delivery for delivery in earlier if _left(delivery)]
    branches = {delivery.branch_id: delivery.branch for delivery in later}
    rows = units_for(event=event, branches=list(branches.values()), kept=kept, now=now)
    free = {(row.number, row.yard): row.free_from for row in rows}
    found = []
    for delivery in later:
        if _left(delivery):
            continue
        free_from = free.get((delivery.unit.number, delivery.branch.code))
        if free_from is None:
            found.append(f"{delivery.unit.number} is not free any more.")
        elif free_from > max(now, delivery.depart_at):
            found.append(f"{delivery.unit.number} comes back later than planned.")
    return found


def _choice_problems(plan: EmergencyPlan, later: Sequence[Delivery]) -> list[str]:
    """Pins and bans set since that the plan does not keep."""
    given = {(need.pk, d.unit_id) for d in later for need in d.needs.all()}
    dropped = {int(one["key"]) for one in plan.result.get("choices_dropped", ())}
    problems = []
    for choice in choices_of(plan.event):
        pair = (choice.need_id, choice.unit_id)
        if choice.kind == ChoiceKind.FORBID and pair in given:
            problems.append(f"{choice.unit} is now kept from {choice.need}.")
        open_pin = choice.kind == ChoiceKind.PIN and choice.need.state in OPEN
        if open_pin and pair not in given and choice.need_id not in dropped:
            problems.append(f"{choice.unit} is now pinned to {choice.need}.")
    return problems


# ---- bookings and needs ------------------------------------------------------------------------


def _bookings_move(
    event: EmergencyEvent, earlier: Sequence[Delivery], later: Sequence[Delivery], now: datetime
) -> None:
    """Keep the bookings of what stays, cancel those of what goes, insert those of what comes."""
    held = {d.unit_id: d for d in earlier if d.booking and not d.booking.cancelled_at}
    stays = {d.unit_id for d in later if d.unit_id in held and _share_need(d, held[d.unit_id])}
    goes = [d.booking for unit_id, d in held.items() if unit_id not in stays and _open(d)]
    Booking.objects.filter(pk__in=[b.pk for b in goes if b]).update(cancelled_at=now)
    moved = [held[unit_id].pk for unit_id in stays]
    Delivery.objects.filter(Q(pk__in=moved) | Q(booking__in=goes)).update(booking=None)
    for delivery in sorted(later, key=lambda d: d.unit_id):
        kept = held[delivery.unit_id].booking if delivery.unit_id in stays else None
        booking = kept or _booking_make(event, delivery, now)
        Delivery.objects.filter(pk=delivery.pk).update(booking=booking)


def _share_need(one: Delivery, other: Delivery) -> bool:
    return bool({need.pk for need in one.needs.all()} & {need.pk for need in other.needs.all()})


def _open(delivery: Delivery) -> bool:
    """Whether it has not left: what is done keeps its booking as it ended."""
    return any(need.state in OPEN for need in delivery.needs.all())


def _booking_make(event: EmergencyEvent, delivery: Delivery, now: datetime) -> Booking:
    """Hold the unit from the day it leaves its yard."""
    hold = event_hold(event, delivery.branch, max(now, delivery.depart_at))
    need = delivery.needs.all()[0]
    (booking,) = bookings_insert(units=[delivery.unit], hold=hold, now=now, need=need)
    return booking


def _needs_move(earlier: Sequence[Delivery], later: Sequence[Delivery], now: datetime) -> None:
    had = {need.pk: need for d in earlier for need in d.needs.all()}
    gets = {need.pk: need for d in later for need in d.needs.all()}
    for pk, need in gets.items():
        if need.state == NeedState.NEEDED:
            need_move(need_id=pk, origin=NeedState.NEEDED, target=NeedState.PROMISED, now=now)
    for pk, need in had.items():
        if pk not in gets and need.state == NeedState.PROMISED:
            need_move(need_id=pk, origin=NeedState.PROMISED, target=NeedState.NEEDED, now=now)
