"""Whose turn it is to plan: one process a message, and only so many plans at once.

Calls to the duty go by the same queue. So a plan that would take the last process free for them
goes back to the outbox for some seconds instead of waiting where it stands.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

import structlog
from django.conf import settings
from django.db import DatabaseError, connections, transaction
from django.utils import timezone

from intake.models import OutboxMessage
from intake.outbox.services import effect_once, message_start, outbox_put
from quotes.emergency.planning.making import QUEUE, TOPIC

HOLD = timedelta(seconds=30)  # so long after a process died its message is published again
RENEW_S = 8.0
LATER = timedelta(seconds=10)

log = structlog.get_logger(__name__)


@transaction.atomic
def turn_taken(*, message_id: UUID, payload: dict[str, Any], now: datetime) -> bool:
    """Begin with a message; false where it is begun already, is done with, or must wait.

    1. Lock the open messages. 2. A copy of one that a process is at is dropped: a plan may take
    longer than the broker waits before it offers a message again. 3. Where no more plans may be
    made now, the same is asked for again in some seconds, and this message is done with.
    """
    waiting = OutboxMessage.objects.filter(topic=TOPIC, done_at=None, parked_at=None)
    rows = list(waiting.select_for_update().order_by("pk"))
    held = {row.pk for row in rows if row.attempts > row.failures and row.due_at > now}
    if message_id in held:
        return False
    if len(held) >= settings.EMERGENCY_PLANS_AT_ONCE:
        effect_once(
            message_id=message_id,
            handler=TOPIC,
            effect=lambda: outbox_put(
                topic=TOPIC, payload=payload, queue=QUEUE, due_at=now + LATER, now=now
            ),
            clock=lambda: now,
        )
        return False
    if not message_start(message_id=message_id, handler=TOPIC, now=now):
        return False
    turn_renew(message_id=message_id, now=now)
    return True


def turn_renew(*, message_id: UUID, now: datetime) -> None:
    """Say that a process is at it; the relay publishes the message again once nobody says so."""
    OutboxMessage.objects.filter(pk=message_id, done_at=None).update(
        due_at=now + HOLD, published_at=None
    )


@contextmanager
def turn_held(message_id: UUID) -> Iterator[None]:
    """Go on saying so, beside the work, until it ends."""
    over = threading.Event()
    beside = threading.Thread(target=_renewing, args=(message_id, over), daemon=True)
    beside.start()
    try:
        yield
    finally:
        over.set()
        beside.join()


def _renewing(message_id: UUID, over: threading.Event) -> None:
    try:
        while not over.wait(RENEW_S):
            try:
                turn_renew(message_id=message_id, now=timezone.now())
            except DatabaseError as trouble:  # the next time comes before the hold is over
                log.warning("plan's hold not renewed", message=str(message_id), why=str(trouble))
    finally:
        connections.close_all()
