"""What the relay publishes, and what it leaves."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.db import transaction
from hypothesis import given
from hypothesis import strategies as st
from kombu.exceptions import OperationalError

from intake.models import OutboxMessage
from intake.outbox.errors import BrokerAway
from intake.outbox.relay import relay_once
from intake.outbox.selectors import outbox_overdue_since, republish_after
from intake.outbox.services import outbox_put

NOW = datetime(2027, 6, 1, 12, tzinfo=UTC)
MINUTE = timedelta(minutes=1)

pytestmark = pytest.mark.django_db


def put(topic: str = "quotes.build", due_at: datetime = NOW, **fields: Any) -> OutboxMessage:
    with transaction.atomic():
        message = outbox_put(topic=topic, payload={}, due_at=due_at, now=NOW)
    OutboxMessage.objects.filter(pk=message.pk).update(**{"attempts": 0, **fields})
    message.refresh_from_db()
    return message


def broker_away(message: OutboxMessage) -> None:
    raise OperationalError("connection refused")


def test_due_messages_go_out_the_longest_due_first() -> None:
    put("second")
    put("first", due_at=NOW - MINUTE)
    put("tomorrow", due_at=NOW + MINUTE)
    sent: list[OutboxMessage] = []
    assert relay_once(now=NOW, send=sent.append) == 2
    assert [message.topic for message in sent] == ["first", "second"]


def test_a_published_message_is_not_published_again_soon() -> None:
    put()
    sent: list[OutboxMessage] = []
    for minute in range(3):
        relay_once(now=NOW + minute * MINUTE, send=sent.append)
    assert len(sent) == 1


def test_a_message_the_broker_lost_is_published_again() -> None:
    message = put(published_at=NOW)
    sent: list[OutboxMessage] = []
    assert relay_once(now=NOW + republish_after() - MINUTE, send=sent.append) == 0
    assert relay_once(now=NOW + republish_after(), send=sent.append) == 1
    assert sent == [message]


@pytest.mark.parametrize(
    "fields",
    [
        {"created_at": NOW + 120 * MINUTE, "due_at": NOW + 120 * MINUTE},
        {"failures": 1, "due_at": NOW + 120 * MINUTE},
        {"published_at": NOW + 120 * MINUTE},
    ],
    ids=["made", "set back", "published"],
)
def test_a_message_of_a_clock_that_ran_ahead_does_not_wait_for_that_time(
    fields: dict[str, Any],
) -> None:
    message = put(**fields)
    sent: list[OutboxMessage] = []
    assert relay_once(now=NOW, send=sent.append) == 1
    assert relay_once(now=NOW + MINUTE, send=sent.append) == 0, "once is enough"
    assert sent == [message]


def test_work_for_later_and_a_retry_wait_for_their_time() -> None:
    put(due_at=NOW + 120 * MINUTE)
    put(failures=4, due_at=NOW + 60 * MINUTE)
    assert relay_once(now=NOW, send=broker_away) == 0


@pytest.mark.parametrize("end", ["done_at", "parked_at"])
def test_a_message_that_came_to_an_end_is_left_alone(end: str) -> None:
    put(**{end: NOW, "published_at": NOW})
    put(**{end: NOW})
    assert relay_once(now=NOW + 10 * republish_after(), send=broker_away) == 0


def test_while_the_broker_is_away_all_stays_due() -> None:
    message = put()
    with pytest.raises(BrokerAway, match="connection refused"):
        relay_once(now=NOW, send=broker_away)
    message.refresh_from_db()
    assert message.published_at is None
    assert outbox_overdue_since(now=NOW + MINUTE) == NOW


def test_what_went_out_before_the_broker_left_counts_as_published() -> None:
    put("first", due_at=NOW - MINUTE)
    put("second")

    def once(message: OutboxMessage) -> None:
        if message.topic == "second":
            broker_away(message)

    assert relay_once(now=NOW, send=once) == 1
    assert OutboxMessage.objects.get(published_at=None).topic == "second"


def test_a_message_set_back_while_it_is_published_stays_set_back() -> None:
    message = put()
    later = NOW + MINUTE

    def fails_at_once(sent: OutboxMessage) -> None:
        OutboxMessage.objects.filter(pk=sent.pk).update(failures=1, due_at=later)

    relay_once(now=NOW, send=fails_at_once)
    message.refresh_from_db()
    assert (message.published_at, message.due_at) == (None, later)


@given(count=st.integers(0, 12), limit=st.integers(1, 5))
def test_rounds_of_any_size_publish_everything_once(count: int, limit: int) -> None:
    OutboxMessage.objects.all().delete()
    put_all = {put(f"task{n}").pk for n in range(count)}
    sent: list[OutboxMessage] = []
    while relay_once(now=NOW, limit=limit, send=sent.append):
        pass
    assert len(sent) == count
    assert {message.pk for message in sent} == put_all
