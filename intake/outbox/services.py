"""Handing over a task, and what becomes of it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

import structlog
from django.db import transaction
from django.db.models import F

from intake.models import InboxMark, OutboxMessage
from intake.outbox.errors import HandedOverOutsideTransaction
from intake.outbox.selectors import LONGEST_RETRY
from intake.prepared import A_MOMENT, AN_ID, Prepared, PreparedUpdate
from intake.prepared_rows import PreparedInsert

MAX_LOSSES = 3
MAX_FAILURES = 8
FIRST_RETRY_S = 5
ERROR_LENGTH = 500

PUT = PreparedInsert(OutboxMessage)
MARKED = PreparedInsert(InboxMark, "message_id", "handler", "done_at")
LOCKED = Prepared(
    lambda pk: OutboxMessage.objects.select_for_update().filter(pk=pk).values_list("done_at"),
    AN_ID,
)
STARTED = PreparedUpdate(
    lambda pk: (
        OutboxMessage.objects.filter(
            pk=pk, done_at=None, parked_at=None, attempts__lt=F("failures") + MAX_LOSSES
        ),
        {"attempts": F("attempts") + 1},
    ),
    AN_ID,
)
DONE = PreparedUpdate(
    lambda pk, now: (
        OutboxMessage.objects.filter(pk=pk),
        {"done_at": now, "parked_at": None},
    ),
    AN_ID,
    A_MOMENT,
)
log = structlog.get_logger(__name__)


def outbox_put(
    *,
    topic: str,
    payload: dict[str, Any],
    queue: str = "default",
    due_at: datetime | None = None,
    now: datetime,
) -> OutboxMessage:
    """Hand over one task, in the transaction of the change it follows from.

    `topic` is the task's name, `payload` its keyword arguments. The id of the request at hand
    travels along, so that the task's logs can be found with the request's.
    """
    if not transaction.get_connection().in_atomic_block:
        raise HandedOverOutsideTransaction(topic)
    message = OutboxMessage(
        topic=topic,
        payload=payload,
        queue=queue,
        headers=request_headers(),
        created_at=now,
        due_at=due_at or now,
    )
    PUT.row(message)
    return message


def request_headers() -> dict[str, str]:
    request_id = structlog.contextvars.get_contextvars().get("request_id", "")
    return {"request_id": request_id} if request_id else {}


def message_take_effect(
    *,
    message_id: UUID,
    handler: str,
    effect: Callable[[], object],
    clock: Callable[[], datetime],
) -> bool:
    """Run `effect` unless this handler has done so for this message; say whether it ran.

    1. Count the start, alone, so that it outlives a worker that dies in the effect.
    2. In one transaction: lock the message, look for the mark, run the effect, leave the mark.
       A second delivery waits at the lock and then finds the mark.
    3. If the effect raised, set the message back for a later try and raise on.
    """
    if not message_start(message_id=message_id, handler=handler, now=clock()):
        return False
    try:
        with transaction.atomic():
            return effect_once(message_id=message_id, handler=handler, effect=effect, clock=clock)
    except Exception as error:
        message_failed(message_id=message_id, error=error, now=clock())
        raise


def message_send(
    *,
    message_id: UUID,
    handler: str,
    effect: Callable[[], object],
    clock: Callable[[], datetime],
) -> bool:
    """Run an effect on the outside world, then leave its mark; say whether it ran."""
    if not message_start(message_id=message_id, handler=handler, now=clock()):
        return False
    try:
        effect()
    except Exception as error:
        message_failed(message_id=message_id, error=error, now=clock())
        raise
    with transaction.atomic():
        return effect_once(message_id=message_id, handler=handler, effect=lambda: None, clock=clock)


def message_start(*, message_id: UUID, handler: str, now: datetime) -> bool:
    """Count a start; refuse it when the message is done with, or has cost too many workers.

    A message that is open is counted by one statement; only for others it is asked what they are.
    """
    if STARTED.update(message_id):
        return True
    if InboxMark.objects.filter(message_id=message_id, handler=handler).exists():
        return False
    message = OutboxMessage.objects.filter(pk=message_id).first()
    if message is None:
        return True  # handed over by other means than the outbox; the mark alone guards it
    if message.parked_at:
        return False
    if message.attempts - message.failures >= MAX_LOSSES:
        message_park(message_id=message_id, why="workers died in it", now=now)
        return False
    OutboxMessage.objects.filter(pk=message_id).update(attempts=F("attempts") + 1)
    return True


def effect_once(
    *,
    message_id: UUID,
    handler: str,
    effect: Callable[[], object],
    clock: Callable[[], datetime],
) -> bool:
    """Run the effect and leave its mark, inside the caller's transaction.

    A message that is still open under its lock has no mark: mark and end are written together.
    """
    still_open = LOCKED.rows(message_id) == [(None,)]
    if not still_open and InboxMark.objects.filter(message_id=message_id, handler=handler).exists():
        return False
    effect()
    now = clock()
    MARKED.rows([(message_id, handler, now)])
    DONE.update(message_id, now)
    return True


def message_failed(*, message_id: UUID, error: Exception, now: datetime) -> None:
    """Set a message back for a later try, or park it when it has failed too often."""
    OutboxMessage.objects.filter(pk=message_id, done_at=None).update(
        failures=F("failures") + 1, last_error=error_text(error)
    )
    message = OutboxMessage.objects.filter(pk=message_id, done_at=None).first()
    if message is None:
        return
    if message.failures >= MAX_FAILURES:
        message_park(message_id=message_id, why=message.last_error, now=now)
        return
    OutboxMessage.objects.filter(pk=message_id, done_at=None).update(
        published_at=None, due_at=now + retry_after(message.failures)
    )


def message_park(*, message_id: UUID, why: str, now: datetime) -> None:
    """Set a message aside for a person to look at."""
    OutboxMessage.objects.filter(pk=message_id, done_at=None).update(
        parked_at=now, last_error=why[:ERROR_LENGTH]
    )
    log.error("task parked", message_id=str(message_id), why=why)


def message_unpark(*, message_id: UUID, now: datetime) -> bool:
    """Give a parked message a fresh start; say whether there was one to start."""
    return bool(
        OutboxMessage.objects.filter(pk=message_id, done_at=None, parked_at__isnull=False).update(
            parked_at=None, published_at=None, due_at=now, attempts=0, failures=0
        )
    )


def retry_after(failures: int) -> timedelta:
    """Return how long to wait after so many failures: 5 s, doubling, an hour at most."""
    return min(LONGEST_RETRY, timedelta(seconds=FIRST_RETRY_S * 2 ** (failures - 1)))


def error_text(error: Exception) -> str:
    return f"{type(error).__name__}: {error}"[:ERROR_LENGTH]
