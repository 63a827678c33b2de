"""Several processes at the same message at the same moment."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import UTC, datetime

import pytest
from django.db import close_old_connections, connection, transaction

from intake.models import Event, OutboxMessage
from intake.outbox.relay import relay_once
from intake.outbox.services import message_take_effect, outbox_put

NOW = datetime(2027, 6, 1, 12, tzinfo=UTC)
THREADS = 6

pytestmark = pytest.mark.django_db(transaction=True)


def put() -> OutboxMessage:
    with transaction.atomic():
        return outbox_put(topic="quotes.build", payload={}, now=NOW)


def at_once(act: Callable[[], object]) -> None:
    """Do the same in every thread, all starting together; fail if any failed."""
    together, troubles = threading.Barrier(THREADS), []

    def run() -> None:
        try:
            together.wait(10)
            act()
        except Exception as trouble:
            troubles.append(trouble)
        finally:
            close_old_connections()
            connection.close()

    threads = [threading.Thread(target=run) for _ in range(THREADS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert troubles == []


def test_deliveries_at_the_same_moment_take_effect_once() -> None:
    message = put()

    def deliver() -> None:
        message_take_effect(
            message_id=message.pk,
            handler="build",
            effect=lambda: Event.objects.create(at=NOW, kind="effect", actor_label="test"),
            clock=lambda: NOW,
        )

    at_once(deliver)
    assert Event.objects.filter(kind="effect").count() == 1
    message.refresh_from_db()
    assert (message.done_at, message.parked_at) == (NOW, None)


def test_relays_at_the_same_moment_lose_nothing() -> None:
    messages = {put().pk for _ in range(40)}
    sent: list[OutboxMessage] = []

    def publish() -> None:
        while relay_once(now=NOW, limit=5, send=sent.append):
            pass

    at_once(publish)
    assert {message.pk for message in sent} == messages
    if connection.features.has_select_for_update_skip_locked:
        assert len(sent) == len(messages), "rows are locked while they are published"
