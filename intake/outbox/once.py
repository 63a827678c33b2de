"""Tasks that take effect once."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from functools import wraps
from typing import Any
from uuid import NAMESPACE_URL, UUID, uuid5

from celery import current_task
from django.db import IntegrityError, transaction
from django.utils import timezone

from intake.models import InboxMark
from intake.outbox.services import message_send, message_take_effect

Handler = Callable[..., object]


def handles_once(name: str) -> Callable[[Handler], Callable[..., bool]]:
    """Make a task's function take effect once a message, all of it in one transaction.

    Put it below the task decorator. The task's id is the message's; the function gets the
    payload as keyword arguments. Mail and calls to others do not belong in the function: hand
    them over with `outbox_put` as messages of their own, to a task that `sends_once`.
    """
    return _once(name, message_take_effect)


def sends_once(name: str) -> Callable[[Handler], Callable[..., bool]]:
    """Make a task that writes to the outside world do so once, outside any transaction.

    The world takes nothing back: a worker that dies between sending and marking sends again. Give
    what is sent the task's id as its own, so that the receiver can tell.
    """
    return _once(name, message_send)


def _once(name: str, take: Callable[..., bool]) -> Callable[[Handler], Callable[..., bool]]:
    def decorate(function: Handler) -> Callable[..., bool]:
        @wraps(function)
        def once(**payload: Any) -> bool:
            return take(
                message_id=UUID(current_task.request.id),
                handler=name,
                effect=lambda: function(**payload),
                clock=timezone.now,
            )

        return once

    return decorate


def once_a_slot(name: str, *, every_s: int) -> Callable[[Handler], Callable[[], bool]]:
    """Make a periodic task run once in each slot of time, however many beats tick.

    The function is called with the time. A run that fails is not repeated: the next slot is.
    """

    def decorate(function: Handler) -> Callable[[], bool]:
        @wraps(function)
        def guarded() -> bool:
            now = timezone.now()
            if not slot_taken(name=name, slot=slot_start(now, every_s), now=now):
                return False
            function(now=now)
            return True

        return guarded

    return decorate


def slot_start(now: datetime, every_s: int) -> datetime:
    """Return the start of the slot that `now` is in, slots being counted from 1970."""
    seconds = int(now.timestamp())
    return datetime.fromtimestamp(seconds - seconds % every_s, tz=UTC)


def slot_taken(*, name: str, slot: datetime, now: datetime) -> bool:
    """Take a slot, unless another process was first."""
    try:
        with transaction.atomic():
            InboxMark.objects.create(
                message_id=uuid5(NAMESPACE_URL, f"{name} {slot.isoformat()}"),
                handler=name,
                done_at=now,
            )
    except IntegrityError:
        return False
    return True


def marks_tidy(*, now: datetime, older_than: timedelta) -> int:
    """Delete marks so old that no broker can deliver their message again."""
    return InboxMark.objects.filter(done_at__lt=now - older_than).delete()[0]
