"""Sessions of staff: when they end by themselves, the own ones, and signing out elsewhere."""

from __future__ import annotations

import hashlib
from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q, QuerySet

from intake.desk.services.holding import name_of
from intake.events.services import event_record
from intake.models import WebSession


def idle_limit() -> timedelta | None:
    """How long nothing may be done; none where the owner wants no such end."""
    minutes = int(settings.SETWRIGHT_SESSION_IDLE_MINUTES)
    return timedelta(minutes=minutes) if minutes else None


def left_alone(row: WebSession, *, now: datetime) -> bool:
    """Whether nothing was done in somebody's session for too long."""
    limit = idle_limit()
    return row.user_id is not None and limit is not None and row.seen_at <= now - limit


def over(*, now: datetime) -> Q:
    """Sessions that have run out or were left alone too long."""
    limit = idle_limit()
    run_out = Q(expire_date__lte=now)
    return run_out | Q(user__isnull=False, seen_at__lte=now - limit) if limit else run_out


def sessions_tidy(*, now: datetime) -> None:
    """Delete the sessions that are over."""
    WebSession.objects.filter(over(now=now)).delete()


def sessions_of(user: User, *, now: datetime) -> QuerySet[WebSession]:
    """Where a person is signed in now, the one used last first."""
    return WebSession.objects.filter(user=user).exclude(over(now=now)).order_by("-seen_at")


def handle_of(row: WebSession) -> str:
    """What a page calls a session by: its key would open it."""
    return hashlib.sha256(row.session_key.encode()).hexdigest()[:20]


@transaction.atomic
def session_end(*, user: User, handle: str, now: datetime) -> None:
    """Sign a person out of one of the own sessions; one that is over is no trouble."""
    found = [row for row in sessions_of(user, now=now) if handle_of(row) == handle]
    _end(user, WebSession.objects.filter(pk__in=[row.pk for row in found]), now)


@transaction.atomic
def others_end(*, user: User, keep: str | None, now: datetime) -> None:
    """Sign a person out everywhere but in the session with the key ``keep``."""
    _end(user, WebSession.objects.filter(user=user).exclude(session_key=keep or ""), now)


def _end(user: User, rows: QuerySet[WebSession], now: datetime) -> None:
    count, _kinds = rows.delete()
    if count:
        event_record(kind="sessions_ended", now=now, actor=user, subject=name_of(user), count=count)
