"""Reading the outbox."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.conf import settings
from django.db import connection
from django.db.models import F, Min, Q, QuerySet

from intake.models import OutboxMessage

CLOCK_SLACK = timedelta(minutes=1)  # hosts may differ by so much; more is a clock that was wrong
LONGEST_RETRY = timedelta(hours=1)


def republish_after() -> timedelta:
    """Return how long a published message may go without an end before it counts as lost.

    Twice the broker's visibility time-out: until the first is over, the broker itself offers the
    message again.
    """
    options = settings.CELERY_BROKER_TRANSPORT_OPTIONS
    return timedelta(seconds=2 * options["visibility_timeout"])


def outbox_due(*, now: datetime, limit: int) -> list[OutboxMessage]:
    """Return messages to publish, the longest due first, then those that seem lost."""
    fresh = list(locked(outbox_unpublished(now=now))[:limit])
    return fresh or list(locked(outbox_unfinished(now=now))[:limit])


def outbox_unpublished(*, now: datetime) -> QuerySet[OutboxMessage]:
    """Return messages that are due and those that only a wrong clock put off.

    A clock that ran ahead and was put right leaves messages made in the future, and retries
    further away than any retry is; they would wait until the wrong time comes.
    """
    made_ahead = Q(created_at__gt=now + CLOCK_SLACK, due_at__lte=F("created_at"))
    put_off = Q(failures__gt=0, due_at__gt=now + LONGEST_RETRY + CLOCK_SLACK)
    return OutboxMessage.objects.filter(
        Q(due_at__lte=now) | made_ahead | put_off, published_at=None, done_at=None, parked_at=None
    ).order_by("due_at")


def outbox_unfinished(*, now: datetime) -> QuerySet[OutboxMessage]:
    """Return messages published long ago, or by a wrong clock, of which nobody reported the end."""
    long_ago = Q(published_at__lte=now - republish_after())
    ahead = Q(published_at__gt=now + CLOCK_SLACK)
    return OutboxMessage.objects.filter(long_ago | ahead, done_at=None, parked_at=None).order_by(
        "published_at"
    )


def locked(messages: QuerySet[OutboxMessage]) -> QuerySet[OutboxMessage]:
    """Lock the rows against other relays where the database can lock rows."""
    if connection.features.has_select_for_update_skip_locked:
        return messages.select_for_update(skip_locked=True)
    return messages


def outbox_overdue_since(*, now: datetime) -> datetime | None:
    """Return since when the longest-waiting unpublished message has been due."""
    found: datetime | None = outbox_unpublished(now=now).aggregate(since=Min("due_at"))["since"]
    return found


def outbox_running() -> QuerySet[OutboxMessage]:
    """Return the messages published of which no handler has reported the end."""
    return OutboxMessage.objects.filter(
        published_at__isnull=False, done_at=None, parked_at=None
    ).order_by("published_at")


def outbox_parked() -> QuerySet[OutboxMessage]:
    """Return the messages set aside for a person, the latest first."""
    return OutboxMessage.objects.filter(Q(parked_at__isnull=False)).order_by("-parked_at")
