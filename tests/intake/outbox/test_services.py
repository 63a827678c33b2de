"""Handing over a task, and its taking effect once."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
import structlog
from django.db import transaction

from intake.models import InboxMark, OutboxMessage
from intake.outbox.errors import HandedOverOutsideTransaction
from intake.outbox.services import (
    MAX_FAILURES,
    MAX_LOSSES,
    message_start,
    message_take_effect,
    message_unpark,
    outbox_put,
    retry_after,
)

NOW = datetime(2027, 6, 1, 12, tzinfo=UTC)


def put(**fields: Any) -> OutboxMessage:
    with transaction.atomic():
        return outbox_put(**{"topic": "quotes.build", "payload": {"pk": 7}, "now": NOW, **fields})


def take(message: OutboxMessage, effect: Any) -> bool:
    return message_take_effect(
        message_id=message.pk, handler="build", effect=effect, clock=lambda: NOW
    )


def fail() -> None:
    raise ValueError("no rate for this set")


@pytest.mark.django_db
def test_a_message_is_due_at_once_unless_told_otherwise() -> None:
    later = NOW + timedelta(days=3)
    assert put().due_at == NOW
    assert put(due_at=later).due_at == later


@pytest.mark.django_db
def test_the_request_at_hand_travels_along() -> None:
    with structlog.contextvars.bound_contextvars(request_id="from-the-browser"):
        assert put().headers == {"request_id": "from-the-browser"}
    assert put().headers == {}


@pytest.mark.django_db(transaction=True)
def test_a_task_outside_a_transaction_is_a_defect() -> None:
    with pytest.raises(HandedOverOutsideTransaction, match=r"quotes\.build"):
        outbox_put(topic="quotes.build", payload={}, now=NOW)
    assert not OutboxMessage.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_a_change_that_is_undone_hands_nothing_over() -> None:
    def change() -> None:
        with transaction.atomic():
            outbox_put(topic="quotes.build", payload={}, now=NOW)
            fail()

    with pytest.raises(ValueError, match="no rate"):
        change()
    assert not OutboxMessage.objects.exists()


@pytest.mark.django_db
def test_a_second_delivery_has_no_effect() -> None:
    message, effects = put(), []
    assert take(message, lambda: effects.append(1)) is True
    assert take(message, lambda: effects.append(2)) is False
    assert effects == [1]
    message.refresh_from_db()
    assert message.done_at == NOW
    assert message.attempts == 1


@pytest.mark.django_db
def test_two_handlers_of_one_message_each_take_effect() -> None:
    message, effects = put(), []
    for handler in ("first", "second", "first"):
        message_take_effect(
            message_id=message.pk,
            handler=handler,
            effect=lambda name=handler: effects.append(name),
            clock=lambda: NOW,
        )
    assert effects == ["first", "second"]


@pytest.mark.django_db
def test_a_message_that_is_in_no_outbox_still_takes_effect_once() -> None:
    stray, effects = OutboxMessage(pk=uuid4()), []
    assert take(stray, lambda: effects.append(1))
    assert not take(stray, lambda: effects.append(2))
    assert effects == [1]


@pytest.mark.django_db(transaction=True)
def test_a_failure_undoes_the_effect_and_sets_the_message_back() -> None:
    message = put()
    OutboxMessage.objects.update(published_at=NOW)

    def half() -> None:
        put(topic="quotes.mail")
        fail()

    with pytest.raises(ValueError, match="no rate"):
        take(message, half)
    message.refresh_from_db()
    assert (message.published_at, message.due_at) == (None, NOW + retry_after(1))
    assert message.last_error == "ValueError: no rate for this set"
    assert not InboxMark.objects.exists()
    assert not OutboxMessage.objects.filter(topic="quotes.mail").exists()


@pytest.mark.django_db(transaction=True)
def test_a_message_that_fails_too_often_is_parked() -> None:
    message = put()
    for _ in range(MAX_FAILURES):
        with pytest.raises(ValueError, match="no rate"):
            take(message, fail)
    message.refresh_from_db()
    assert message.parked_at == NOW
    assert take(message, fail) is False, "a parked message waits for a person"


@pytest.mark.django_db
def test_a_message_that_costs_worker_after_worker_is_parked() -> None:
    message = put()
    for _ in range(MAX_LOSSES):
        assert message_start(message_id=message.pk, handler="build", now=NOW)
    assert not message_start(message_id=message.pk, handler="build", now=NOW)
    message.refresh_from_db()
    assert (message.parked_at, message.last_error) == (NOW, "workers died in it")


@pytest.mark.django_db(transaction=True)
def test_failures_are_not_counted_as_lost_workers() -> None:
    message = put()
    for _ in range(MAX_LOSSES + 1):
        with pytest.raises(ValueError, match="no rate"):
            take(message, fail)
    assert take(message, lambda: None) is True


@pytest.mark.django_db
def test_a_parked_message_gets_a_fresh_start() -> None:
    message = put()
    OutboxMessage.objects.update(parked_at=NOW, published_at=NOW, attempts=3)
    assert message_unpark(message_id=message.pk, now=NOW)
    assert not message_unpark(message_id=message.pk, now=NOW), "it is parked no more"
    assert take(message, lambda: None)


def test_retries_wait_twice_as_long_each_time_and_an_hour_at_most() -> None:
    assert [retry_after(n).total_seconds() for n in (1, 2, 3, 4)] == [5, 10, 20, 40]
    assert retry_after(40) == timedelta(hours=1)
