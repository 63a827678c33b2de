"""A plan from the database: made once, put in force whole or not at all, and planned again."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.contrib.auth.models import User
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from intake.events.kinds import sentence
from intake.models import Event, OutboxMessage
from intake.outbox.services import outbox_put
from quotes.bookings.selectors import hold_for
from quotes.bookings.services import bookings_insert
from quotes.emergency.event.services import event_close, need_state_set, unit_back, unit_fail
from quotes.emergency.planning.choices import choice_end, choice_make, need_clear
from quotes.emergency.planning.errors import ChoiceRefused, EventIsClosed, PlanOvertaken
from quotes.emergency.planning.force import plan_put_in_force
from quotes.emergency.planning.making import TOPIC, plan_ask, plan_asked, plan_make
from quotes.emergency.planning.tasks import plan_of_message
from quotes.models import (
    Booking,
    Branch,
    Combined,
    EmergencyEvent,
    EmergencyPlan,
    Need,
    NeedState,
    PlanState,
    SetType,
    Unit,
)
from tests.intake.desk import cast
from tests.quotes.cast import NOW
from tests.quotes.emergency import storm

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard(db: None) -> Branch:
    return storm.yard()


@pytest.fixture
def event(yard: Branch) -> EmergencyEvent:
    return storm.event()


@pytest.fixture
def senior(db: None) -> User:
    return cast.person("sam", "senior_rep")


def made(event: EmergencyEvent, *, hours: float = 0) -> EmergencyPlan:
    return plan_make(
        event_id=event.pk, reason="", actor=None, now=NOW + timedelta(hours=hours), seconds=2
    )


def in_force(event: EmergencyEvent, senior: User, *, hours: float = 0) -> EmergencyPlan:
    plan = made(event, hours=hours)
    plan_put_in_force(plan_id=plan.pk, actor=senior, now=NOW + timedelta(hours=hours))
    return EmergencyPlan.objects.get(pk=plan.pk)


def given(plan: EmergencyPlan) -> dict[str, str]:
    rows = plan.deliveries.prefetch_related("needs")
    return {need.key: row.unit.number for row in rows for need in row.needs.all()}


def moved(need: Need, target: NeedState, senior: User, *, hours: float) -> None:
    need_state_set(
        need_id=need.pk,
        target=target,
        version=None,
        actor=senior,
        now=NOW + timedelta(hours=hours),
    )


def states() -> dict[str, str]:
    return dict(Need.objects.values_list("key", "state"))


def standing() -> set[str]:
    return set(Booking.objects.filter(cancelled_at=None).values_list("unit__number", flat=True))


# ---- made --------------------------------------------------------------------------------------


def test_the_higher_rank_is_served_and_the_other_told_why(
    event: EmergencyEvent, yard: Branch
) -> None:
    storm.unit("S-1", yard)
    storm.need(event, "mast")
    storm.need(event, "clinic", rank=1, latitude="44.30")
    plan = made(event)
    assert given(plan) == {"clinic": "S-1"}
    (unmet,) = plan.result["unmet"]
    assert unmet["words"].startswith("Needs 120/240 25 kW (T25, T40): none is free, they go")
    assert "T25 to Clinic (life-saving)" in unmet["words"]
    assert "would serve Mast as well" in plan.result["one_more"][0]
    assert (plan.proven, plan.gap_percent, standing()) == (True, 0.0, set())


def test_a_need_that_waits_for_a_person_gets_nothing_until_it_is_cleared(
    event: EmergencyEvent, yard: Branch, senior: User
) -> None:
    storm.unit("S-1", yard)
    need = storm.need(event, "clinic", needs_person=True, person_reason="Life support.")
    plan = made(event)
    assert given(plan) == {}
    assert plan.result["left_out"] == [{"key": str(need.pk), "why": "Life support."}]
    need_clear(need_id=need.pk, reason="The nurse said so.", actor=senior, now=NOW)
    assert given(made(event)) == {"clinic": "S-1"}


@pytest.mark.parametrize("there_is", ["none", "unsure"])
def test_nobody_clears_a_building_that_nothing_parts_from_the_utility(
    event: EmergencyEvent, senior: User, there_is: str
) -> None:
    need = storm.need(event, "hall", needs_person=True, transfer_equipment=there_is)
    with pytest.raises(ChoiceRefused, match="from the utility"):
        need_clear(need_id=need.pk, reason="It will do.", actor=senior, now=NOW)
    need_clear(
        need_id=need.pk,
        reason="An electrician put a switch in.",
        transfer_equipment="manual_switch",
        actor=senior,
        now=NOW,
    )
    need.refresh_from_db()
    assert (need.waits_for_person, need.transfer_equipment) == (False, "manual_switch")


def test_a_set_booked_by_somebody_else_is_not_planned_with(
    event: EmergencyEvent, yard: Branch
) -> None:
    taken, later = storm.unit("S-1", yard), storm.unit("S-2", yard)
    other = storm.need(None, "other")
    today = NOW.date()
    for unit, first in ((taken, today), (later, today + timedelta(days=2))):
        hold = hold_for(yard, first, first + timedelta(days=9))
        bookings_insert(units=[unit], hold=hold, now=NOW, need=other)
    storm.need(event, "mast")
    assert given(made(event)) == {}


def test_a_set_that_comes_back_tonight_leaves_tonight(event: EmergencyEvent, yard: Branch) -> None:
    unit = storm.unit("S-1", yard)
    hold = hold_for(yard, NOW.date() - timedelta(days=3), NOW.date())
    bookings_insert(units=[unit], hold=hold, now=NOW, need=storm.need(None, "other"))
    storm.need(event, "mast")
    (delivery,) = made(event).deliveries.all()
    midnight = NOW + timedelta(hours=13)  # NOW is 11:00 in New York
    assert delivery.depart_at == midnight


def test_needs_a_few_steps_apart_share_the_only_set(event: EmergencyEvent, yard: Branch) -> None:
    storm.unit("S-1", yard, "T40")
    storm.need(event, "hall", latitude="44.4300", longitude="-75.3700")
    storm.need(event, "library", latitude="44.4304", longitude="-75.3690")
    storm.need(event, "far", latitude="44.4400", longitude="-75.3700", rank=3)
    assert given(made(event)) == {"hall": "S-1", "library": "S-1"}
    assert Combined.objects.get().why == "Hall and Library lie 91 m apart, both at 120/240."
    made(event)
    assert Combined.objects.count() == 1


def test_one_of_a_pair_serves_part_of_a_load_and_the_plan_says_so(
    event: EmergencyEvent, yard: Branch
) -> None:
    storm.unit("S-1", yard)
    pair = {"set_code": "T25", "count": 2, "share": 1.0}
    storm.need(event, "mast", options=[pair, {**pair, "count": 1, "share": 0.6}])
    plan = made(event)
    assert given(plan) == {"mast": "S-1"}
    assert plan.result["partly"] == [
        "Mast gets T25 for 60 % of its load; 2 x T25 would carry all of it, but more is served "
        "this way with the sets there are."
    ]


def test_a_life_safety_need_never_shares(event: EmergencyEvent, yard: Branch) -> None:
    storm.unit("S-1", yard, "T40")
    storm.need(event, "hall")
    storm.need(event, "clinic", life_safety=True, rank=1)
    assert given(made(event)) == {"clinic": "S-1"}
    assert not Combined.objects.exists()


def test_a_message_that_comes_twice_leaves_one_plan(
    event: EmergencyEvent, yard: Branch, senior: User
) -> None:
    storm.need(event, "mast")
    plan_ask(event_id=event.pk, reason="First", actor=senior, now=NOW)
    message = OutboxMessage.objects.get(topic=TOPIC)
    assert (message.queue, plan_asked(event)) == ("emergency", True)
    with time_machine.travel(NOW, tick=False):
        done = [plan_of_message(message_id=message.pk, **message.payload) for _ in range(2)]
    assert done == [True, False]
    assert not plan_asked(event)
    assert [plan.reason for plan in event.plans.all()] == ["First"]


def test_a_message_for_a_closed_event_is_done_with(event: EmergencyEvent, senior: User) -> None:
    with transaction.atomic():
        payload = {"event_id": event.pk, "reason": "", "actor_id": None}
        message = outbox_put(topic=TOPIC, payload=payload, queue="emergency", now=NOW)
    event_close(event_id=event.pk, actor=senior, now=NOW)
    assert plan_of_message(message_id=message.pk, **payload)
    message.refresh_from_db()
    assert message.done_at is not None
    with pytest.raises(EventIsClosed):
        plan_ask(event_id=event.pk, reason="", actor=senior, now=NOW)


# ---- in force ----------------------------------------------------------------------------------


def test_in_force_the_sets_are_booked_and_the_needs_promised(
    event: EmergencyEvent, yard: Branch, senior: User
) -> None:
    storm.unit("S-1", yard)
    need = storm.need(event, "mast")
    plan = in_force(event, senior)
    booking = Booking.objects.get()
    assert (booking.need, booking.order, booking.unit.number) == (need, None, "S-1")
    assert booking.ends_on == (NOW + timedelta(days=5)).date()
    assert (states(), plan.state) == ({"mast": "promised"}, PlanState.IN_FORCE)
    kinds = {"emergency_planned", "emergency_in_force"}
    said = [sentence(one) for one in Event.objects.filter(kind__in=kinds).order_by("pk")]
    assert said[0].startswith("Plan 1 of STORM-1: 1 served, 0 not.")
    assert said[1].endswith("put plan 1 of STORM-1 in force: S-1.")


def book_elsewhere(yard: Branch, need: Need) -> None:
    hold = hold_for(yard, NOW.date(), NOW.date() + timedelta(days=1))
    other = storm.need(None, "other")
    bookings_insert(units=[Unit.objects.get()], hold=hold, now=NOW, need=other)


def break_set(yard: Branch, need: Need) -> None:
    Unit.objects.update(state="workshop")


def weaken_type(yard: Branch, need: Need) -> None:
    weak = SetType.objects.get(code="T25")
    weak.record = {**weak.record, "prime_kw": "5", "prime_kva": "6.25"}
    weak.save()


def hold_for_person(yard: Branch, need: Need) -> None:
    Need.objects.filter(pk=need.pk).update(needs_person=True)


def withdraw(yard: Branch, need: Need) -> None:
    Need.objects.filter(pk=need.pk).update(state="withdrawn")


def forbid(yard: Branch, need: Need) -> None:
    choice_make(
        need_id=need.pk,
        unit="s-1",
        kind="forbid",
        reason="No room.",
        actor=User.objects.get(),
        now=NOW,
    )


CHANGES: list[tuple[Any, str]] = [
    (book_elsewhere, "S-1 is not free any more."),
    (break_set, "S-1 is not free any more."),
    (weaken_type, "Mast: T25 does not pass every check there any more."),
    (hold_for_person, "Mast waits for a person."),
    (withdraw, "Mast is withdrawn."),
    (forbid, "S-1 is now kept from Mast."),
]


@pytest.mark.parametrize(("change", "said"), CHANGES, ids=[c.__name__ for c, _ in CHANGES])
def test_what_changed_since_refuses_the_plan_and_books_nothing(
    event: EmergencyEvent, yard: Branch, senior: User, change: Any, said: str
) -> None:
    storm.unit("S-1", yard)
    need = storm.need(event, "mast")
    plan = made(event)
    change(yard, need)
    with pytest.raises(PlanOvertaken) as refused:
        plan_put_in_force(plan_id=plan.pk, actor=senior, now=NOW)
    assert refused.value.changes == [said]
    assert not Booking.objects.filter(need=need).exists()
    plan.refresh_from_db()
    assert plan.state == PlanState.MADE


def test_a_large_plan_is_read_as_often_as_a_small_one_while_all_others_wait(
    event: EmergencyEvent, yard: Branch, senior: User
) -> None:
    """A plan of 1,000 sites is megabytes; read for each delivery it held the lock for a minute."""
    for number in range(5):
        storm.unit(f"S-{number}", yard)
        storm.need(event, f"mast-{number}")
    plan = made(event)
    assert plan.deliveries.count() == 5
    with CaptureQueriesContext(connection) as asked:
        plan_put_in_force(plan_id=plan.pk, actor=senior, now=NOW)
    read = [one["sql"] for one in asked if '"quotes_emergencyplan"."result"' in one["sql"]]
    assert len(read) <= 3


def test_a_plan_made_before_another_came_in_force_is_overtaken(
    event: EmergencyEvent, yard: Branch, senior: User
) -> None:
    storm.unit("S-1", yard)
    storm.need(event, "mast")
    first = made(event)
    in_force(event, senior)
    with pytest.raises(PlanOvertaken) as refused:
        plan_put_in_force(plan_id=first.pk, actor=senior, now=NOW)
    assert refused.value.changes == ["Another plan was put in force since this one was made."]


# ---- again -------------------------------------------------------------------------------------


def test_what_runs_stays_and_the_new_need_gets_what_is_left(
    event: EmergencyEvent, yard: Branch, senior: User
) -> None:
    storm.unit("S-1", yard)
    storm.unit("S-2", yard)
    mast = storm.need(event, "mast", rank=3)
    first = in_force(event, senior)
    moved(mast, NeedState.ON_THE_WAY, senior, hours=1)
    moved(mast, NeedState.RUNNING, senior, hours=2)
    storm.need(event, "clinic", rank=1)
    booking = Booking.objects.get()
    again = in_force(event, senior, hours=3)
    other = ({"S-1", "S-2"} - {given(first)["mast"]}).pop()
    assert given(again) == {"mast": given(first)["mast"], "clinic": other}
    assert [one["needs"] for one in again.result["kept"]] == [[str(mast.pk)]]
    assert again.deliveries.get(needs=mast).booking == booking
    assert standing() == {"S-1", "S-2"}


def test_a_place_that_has_its_power_back_meanwhile_does_not_stop_the_plan(
    event: EmergencyEvent, yard: Branch, senior: User
) -> None:
    storm.unit("S-1", yard)
    storm.unit("S-2", yard)
    mast = storm.need(event, "mast")
    in_force(event, senior)
    moved(mast, NeedState.ON_THE_WAY, senior, hours=1)
    moved(mast, NeedState.RUNNING, senior, hours=2)
    storm.need(event, "clinic", rank=1)
    plan = made(event, hours=3)
    moved(mast, NeedState.DONE, senior, hours=3.1)
    plan_put_in_force(plan_id=plan.pk, actor=senior, now=NOW + timedelta(hours=3.2))
    assert states() == {"mast": "done", "clinic": "promised"}
    assert len(standing()) == 1


def test_a_promise_gives_way_to_a_higher_rank_and_its_booking_goes(
    event: EmergencyEvent, yard: Branch, senior: User
) -> None:
    storm.unit("S-1", yard)
    storm.need(event, "mast", rank=3)
    in_force(event, senior)
    storm.need(event, "clinic", rank=1, accepted_at=NOW + timedelta(minutes=5))
    again = in_force(event, senior, hours=0.2)
    assert states() == {"mast": "needed", "clinic": "promised"}
    assert Booking.objects.get(cancelled_at=None).need.key == "clinic"  # type: ignore[union-attr]
    changes = {one["kind"]: one["why"] for one in again.result["changes"]}
    assert changes["dropped"].startswith("S-1 goes to Clinic (life-saving).")
    assert changes["new"].startswith("It came in since the plan in force.")


def test_a_set_that_fails_takes_its_need_back_and_another_goes(
    event: EmergencyEvent, yard: Branch, senior: User
) -> None:
    storm.unit("S-1", yard)
    mast = storm.need(event, "mast")
    in_force(event, senior)
    moved(mast, NeedState.ON_THE_WAY, senior, hours=1)
    storm.unit("S-2", yard)
    unit_fail(number="S-1", reason="No start", actor=senior, now=NOW + timedelta(hours=2))
    assert (states(), standing()) == ({"mast": "needed"}, set())
    again = in_force(event, senior, hours=2)
    assert given(again) == {"mast": "S-2"}
    (change,) = again.result["changes"]
    assert change["why"] == "S-1 is in the workshop: No start. S-2 came free."
    unit_back(number="S-1", actor=senior, now=NOW)
    with pytest.raises(ChoiceRefused, match="not in the workshop"):
        unit_back(number="S-1", actor=senior, now=NOW)


def test_a_set_needed_no_more_goes_out_again_once_it_is_back_and_checked(
    event: EmergencyEvent, yard: Branch, senior: User
) -> None:
    storm.unit("S-1", yard)
    mast = storm.need(event, "mast")
    in_force(event, senior)
    storm.need(event, "hall", rank=3)
    for hours, target in enumerate((NeedState.ON_THE_WAY, NeedState.RUNNING, NeedState.DONE), 1):
        moved(mast, target, senior, hours=hours)
    again = in_force(event, senior, hours=4)
    assert given(again) == {"hall": "S-1"}
    ready = again.deliveries.get().depart_at - (NOW + timedelta(hours=3))
    assert timedelta(hours=4) < ready < timedelta(hours=5)  # 4 h to fill and check, and the road
    assert standing() == {"S-1"}


def test_of_two_that_share_a_set_one_may_leave(
    event: EmergencyEvent, yard: Branch, senior: User
) -> None:
    storm.unit("S-1", yard, "T40")
    hall = storm.need(event, "hall", latitude="44.4300", longitude="-75.3700")
    library = storm.need(event, "library", latitude="44.4304", longitude="-75.3690")
    in_force(event, senior)
    moved(hall, NeedState.WITHDRAWN, senior, hours=0.1)
    assert standing() == {"S-1"}
    assert given(in_force(event, senior, hours=0.2)) == {"library": "S-1"}
    moved(library, NeedState.WITHDRAWN, senior, hours=0.3)
    assert standing() == set()


# ---- a rep's word ------------------------------------------------------------------------------


def test_a_pin_and_a_ban_hold_in_the_next_plan_until_taken_back(
    event: EmergencyEvent, yard: Branch, senior: User
) -> None:
    storm.unit("S-1", yard)
    storm.unit("S-2", yard)
    mast = storm.need(event, "mast")

    def say(unit: str, kind: str) -> Any:
        return choice_make(
            need_id=mast.pk, unit=unit, kind=kind, reason="The road.", actor=senior, now=NOW
        )

    pinned = say("S-2", "pin")
    assert given(made(event)) == {"mast": "S-2"}
    choice_end(choice_id=pinned.pk, actor=senior, now=NOW)
    say("S-2", "forbid")
    assert given(made(event)) == {"mast": "S-1"}
    say("S-1", "forbid")
    assert given(made(event)) == {}


def test_a_pin_never_comes_before_a_check(
    event: EmergencyEvent, yard: Branch, senior: User
) -> None:
    storm.unit("S-9", yard, "T15")
    mast = storm.need(event, "mast")
    with pytest.raises(ChoiceRefused, match="does not pass every check"):
        choice_make(need_id=mast.pk, unit="S-9", kind="pin", reason="x", actor=senior, now=NOW)
    with pytest.raises(ChoiceRefused, match="no set with the number 'S-8'"):
        choice_make(need_id=mast.pk, unit="S-8", kind="pin", reason="x", actor=senior, now=NOW)


def test_a_set_is_pinned_to_one_need_only(
    event: EmergencyEvent, yard: Branch, senior: User
) -> None:
    storm.unit("S-1", yard)
    one, other = storm.need(event, "mast"), storm.need(event, "hall")
    choice_make(need_id=one.pk, unit="S-1", kind="pin", reason="x", actor=senior, now=NOW)
    with pytest.raises(ChoiceRefused, match="pinned to Mast already"):
        choice_make(need_id=other.pk, unit="S-1", kind="pin", reason="x", actor=senior, now=NOW)


def test_an_unknown_message_id_still_leaves_one_plan(event: EmergencyEvent, yard: Branch) -> None:
    identity = uuid4()
    with time_machine.travel(NOW, tick=False):
        for _ in range(2):
            plan_of_message(message_id=identity, event_id=event.pk, reason="", actor_id=None)
    assert event.plans.count() == 1
