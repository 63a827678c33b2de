"""Publishing what the outbox holds. The only place from which a task is sent to the broker."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import AbstractContextManager, nullcontext
from datetime import datetime

import structlog
from celery import current_app
from django.db import connection, transaction
from kombu.exceptions import OperationalError

from intake.models import OutboxMessage
from intake.outbox.errors import BrokerAway
from intake.outbox.selectors import outbox_due

BATCH = 50

log = structlog.get_logger(__name__)

Send = Callable[[OutboxMessage], None]


def relay_once(*, now: datetime, limit: int = BATCH, send: Send | None = None) -> int:
    """Publish up to `limit` messages and return how many; raise BrokerAway if it took none.

    A message is marked as published after the broker has it: a relay that dies in between
    publishes it again, and the handler's mark makes the second delivery idle.
    """
    with relay_transaction():
        sent, trouble = sent_messages(outbox_due(now=now, limit=limit), send or celery_send)
        messages_published(sent, now=now)
    if trouble and not sent:
        raise BrokerAway(str(trouble)) from trouble
    return len(sent)


def relay_transaction() -> AbstractContextManager[object]:
    """Hold the rows' locks while publishing; on SQLite never the whole database's."""
    if connection.features.has_select_for_update_skip_locked:
        return transaction.atomic()
    return nullcontext()


def sent_messages(
    messages: Iterable[OutboxMessage], send: Send
) -> tuple[list[OutboxMessage], Exception | None]:
    """Send message by message until the broker refuses; return those it took, and its refusal."""
    sent: list[OutboxMessage] = []
    for message in messages:
        try:
            send(message)
        except (OperationalError, OSError) as trouble:
            return sent, trouble
        sent.append(message)
    return sent, None


def messages_published(sent: list[OutboxMessage], *, now: datetime) -> None:
    """Mark messages as published, save those that a quick worker has meanwhile set back."""
    with transaction.atomic():
        for failures in {message.failures for message in sent}:
            pks = [message.pk for message in sent if message.failures == failures]
            OutboxMessage.objects.filter(pk__in=pks, failures=failures).update(published_at=now)


def celery_send(message: OutboxMessage) -> None:
    """Give a message to the broker under its own id, with no second try: the next round is one."""
    current_app.send_task(
        message.topic,
        kwargs=message.payload,
        task_id=str(message.pk),
        queue=message.queue,
        headers=message.headers,
        retry=False,
    )
