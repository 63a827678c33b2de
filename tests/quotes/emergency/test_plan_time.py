"""How long a plan may take, and that a long one never stands in the way of a call to the duty."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.contrib.auth.models import User
from django.db import transaction

from intake.models import InboxMark, OutboxMessage
from intake.outbox.selectors import outbox_due
from intake.outbox.services import message_failed
from quotes.emergency.paging.services import URGENT
from quotes.emergency.planning import turns
from quotes.emergency.planning.limits import plan_seconds, task_limit_s, time_words
from quotes.emergency.planning.making import QUEUE, TOPIC, plan_ask, plan_asked, plan_work
from quotes.emergency.planning.tasks import emergency_plan, plan_of_message
from quotes.models import EmergencyEvent
from tests.config.test_settings import READ, run
from tests.intake.desk import cast
from tests.quotes.cast import NOW
from tests.quotes.emergency import storm

pytestmark = pytest.mark.django_db
MEASURED = [(200, 150, 20), (500, 300, 80), (1000, 500, 100), (2000, 1000, 360)]


@pytest.fixture
def event(db: None) -> EmergencyEvent:
    storm.yard()
    return storm.event()


@pytest.fixture
def senior(db: None) -> User:
    return cast.person("sam", "senior_rep")


def asked_for(event: EmergencyEvent, senior: User) -> OutboxMessage:
    plan_ask(event_id=event.pk, reason="Again", actor=senior, now=NOW)
    waiting = OutboxMessage.objects.filter(topic=TOPIC, done_at=None, attempts=0)
    found = waiting.filter(payload__event_id=event.pk).last()
    assert found is not None
    return found


def begun(message: OutboxMessage, now: Any = NOW) -> bool:
    return turns.turn_taken(message_id=message.pk, payload=message.payload, now=now)


def made(message: OutboxMessage, now: Any = NOW) -> bool:
    with time_machine.travel(now, tick=False):
        return plan_of_message(message_id=message.pk, **message.payload)


# ---- how long ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("sites", "sets", "seconds"), MEASURED)
def test_a_plan_has_the_time_that_its_size_was_measured_to_take(
    sites: int, sets: int, seconds: float
) -> None:
    assert plan_seconds(sites, sets) == pytest.approx(seconds)


def test_a_small_event_has_the_time_the_owner_says(settings: Any) -> None:
    settings.EMERGENCY_SECONDS = 7.0
    assert plan_seconds(0, 0) == plan_seconds(200, 150) == 7.0
    assert plan_seconds(500, 300) == pytest.approx(28.0)


def test_a_larger_event_has_never_less_time_and_none_more_than_the_bound(settings: Any) -> None:
    settings.EMERGENCY_SECONDS_MOST = 200.0
    found = [plan_seconds(sites, sites // 2) for sites in range(0, 6000, 100)]
    assert found == sorted(found)
    assert (found[0], found[-1]) == (20.0, 200.0)
    settings.EMERGENCY_SECONDS_MOST = 2000.0
    assert plan_seconds(4000, 1000) == pytest.approx(720.0)  # twice the largest measured


def test_the_longest_plan_ends_before_its_task_is_ended() -> None:
    from django.conf import settings

    assert emergency_plan.soft_time_limit > settings.EMERGENCY_SECONDS_MOST + 60
    assert emergency_plan.soft_time_limit < emergency_plan.time_limit == task_limit_s()


def test_a_plan_is_searched_for_as_long_as_its_event_is_large(
    event: EmergencyEvent, monkeypatch: pytest.MonkeyPatch
) -> None:
    from quotes.emergency.planning import making

    given: list[float] = []
    real = making.plan
    monkeypatch.setattr(making, "plan_seconds", lambda sites, sets: 10 * sites + sets)
    monkeypatch.setattr(
        making, "plan", lambda problem, seconds: given.append(seconds) or real(problem, seconds=2)
    )
    storm.need(event, "mast")
    yard = storm.Branch.objects.get(code="STORM")
    storm.unit("S-1", yard)
    storm.unit("S-2", yard)
    plan_work(event_id=event.pk, now=NOW)
    assert given == [12]


@pytest.mark.parametrize(
    ("seconds", "words"), [(20, "20 s"), (80, "80 s"), (100, "about 2 min"), (360, "about 6 min")]
)
def test_the_time_is_said_as_people_say_it(seconds: float, words: str) -> None:
    assert time_words(seconds) == words


WRONG = [
    ({"EMERGENCY_SECONDS": "30", "EMERGENCY_SECONDS_MOST": "20"}, "EMERGENCY_SECONDS_MOST"),
    ({"EMERGENCY_SECONDS": "0"}, "EMERGENCY_SECONDS_MOST"),
    ({"EMERGENCY_PLANS_AT_ONCE": "0"}, "EMERGENCY_PLANS_AT_ONCE"),
]


@pytest.mark.parametrize(("environment", "named"), WRONG)
def test_settings_that_make_no_sense_are_refused(
    tmp_path: Path, environment: dict[str, str], named: str
) -> None:
    told = run(tmp_path, ["-c", READ, "DEBUG"], **environment)
    assert told.returncode != 0
    assert f"ImproperlyConfigured: {named} is" in told.stderr


# ---- one at a time -----------------------------------------------------------------------------


def test_calls_go_by_the_queue_of_plans() -> None:
    """Why all of the following matters."""
    assert QUEUE == URGENT == "emergency"


def test_a_second_plan_leaves_its_process_to_the_calls_and_comes_again(
    event: EmergencyEvent, senior: User
) -> None:
    first, second = asked_for(event, senior), asked_for(storm.event(code="STORM-2"), senior)
    assert begun(first)
    assert made(second) is False
    again = OutboxMessage.objects.get(topic=TOPIC, done_at=None, attempts=0)
    assert (again.payload, again.queue) == (second.payload, "emergency")
    assert again.due_at == NOW + turns.LATER
    assert not outbox_due(now=NOW + timedelta(seconds=9), limit=9)
    assert InboxMark.objects.filter(message_id=second.pk).exists()  # done with: comes no more
    assert made(first, NOW + turns.HOLD) is True  # as after the process that held it
    assert made(again, NOW + turns.HOLD) is True
    assert EmergencyEvent.objects.get(code="STORM-2").plans.count() == 1


def test_the_owner_may_let_more_plans_be_made_at_once(
    event: EmergencyEvent, senior: User, settings: Any
) -> None:
    settings.EMERGENCY_PLANS_AT_ONCE = 2
    assert [begun(asked_for(event, senior)) for _ in range(3)] == [True, True, False]


def test_a_copy_of_a_message_that_is_being_planned_is_dropped(
    event: EmergencyEvent, senior: User
) -> None:
    message = asked_for(event, senior)
    assert begun(message)
    assert made(message, NOW + turns.HOLD - timedelta(seconds=1)) is False
    message.refresh_from_db()
    assert (message.attempts, message.done_at) == (1, None)
    assert plan_asked(event)
    assert event.plans.count() == 0


def test_the_hold_goes_on_while_it_is_renewed_and_the_relay_takes_over_when_it_is_not(
    event: EmergencyEvent, senior: User
) -> None:
    message = asked_for(event, senior)
    OutboxMessage.objects.update(published_at=NOW)
    assert begun(message)
    later = NOW + timedelta(seconds=turns.RENEW_S)
    turns.turn_renew(message_id=message.pk, now=later)
    assert not outbox_due(now=NOW + turns.HOLD, limit=9)
    assert not made(message, NOW + turns.HOLD)
    assert outbox_due(now=later + turns.HOLD, limit=9) == [message]
    assert made(message, later + turns.HOLD)


def test_a_plan_that_failed_is_no_hold(event: EmergencyEvent, senior: User) -> None:
    first, second = asked_for(event, senior), asked_for(event, senior)
    assert begun(first)
    message_failed(message_id=first.pk, error=ValueError("x"), now=NOW)
    assert begun(second)


def test_a_message_that_cost_three_processes_is_parked(event: EmergencyEvent, senior: User) -> None:
    message = asked_for(event, senior)
    times = [NOW + number * turns.HOLD for number in range(4)]
    assert [begun(message, now) for now in times] == [True, True, True, False]
    message.refresh_from_db()
    assert message.parked_at == times[-1]


def test_the_hold_is_renewed_beside_the_work(monkeypatch: pytest.MonkeyPatch) -> None:
    from threading import Event

    twice, renewed = Event(), []

    def renew(**said: Any) -> None:
        renewed.append(said["message_id"])
        if len(renewed) == 1:
            raise turns.DatabaseError("the database was busy")
        twice.set()

    monkeypatch.setattr(turns, "RENEW_S", 0.01)
    monkeypatch.setattr(turns, "turn_renew", renew)
    identity = uuid4()
    with turns.turn_held(identity):
        assert twice.wait(10)
    assert set(renewed) == {identity}


def test_what_is_not_of_the_outbox_is_guarded_by_its_mark_alone(event: EmergencyEvent) -> None:
    with transaction.atomic():
        said = {"event_id": event.pk, "reason": "", "actor_id": None}
        assert turns.turn_taken(message_id=uuid4(), payload=said, now=NOW)
