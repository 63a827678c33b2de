"""Is this process alive, may it take requests, and is the work being done?

`live` asks nothing, `ready` asks for the database, `work` asks whether tasks get done. They are
three, because a site whose broker is down still answers its customers and must stay in service.
"""

from datetime import datetime, timedelta

import redis
from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from intake.outbox.selectors import outbox_overdue_since

CANARY_KEY = "setwright:canary"
CANARY_STALE = timedelta(seconds=120)
BACKLOG_STALE = timedelta(seconds=120)


@never_cache
@require_safe
def live(request: HttpRequest) -> HttpResponse:
    return JsonResponse({"status": "ok"})


@never_cache
@require_safe
def ready(request: HttpRequest) -> HttpResponse:
    return answer({"database": database_trouble()})


@never_cache
@require_safe
def work(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    return answer({"worker": worker_trouble(now), "outbox": outbox_trouble(now)})


def answer(troubles: dict[str, str]) -> HttpResponse:
    """Answer 200 when there is no trouble, else 503, with a word for each thing asked."""
    body = {
        "status": "unavailable" if any(troubles.values()) else "ok",
        **{part: trouble or "ok" for part, trouble in troubles.items()},
    }
    return JsonResponse(body, status=503 if any(troubles.values()) else 200)


def database_trouble() -> str:
    """Say what is wrong with the database, or nothing."""
    try:
        executor = MigrationExecutor(connection)
        waiting = executor.migration_plan(executor.loader.graph.leaf_nodes())
    except DatabaseError:
        return "does not answer"
    return "migrations waiting" if waiting else ""


def worker_trouble(now: datetime) -> str:
    """Say whether the broker is away or no canary task has been finished of late."""
    try:
        seen = broker().get(CANARY_KEY)
    except redis.RedisError:
        return "broker does not answer"
    if seen is None or datetime.fromisoformat(str(seen)) < now - CANARY_STALE:
        return "no task finished of late"
    return ""


def outbox_trouble(now: datetime) -> str:
    """Say whether work has been waiting too long to be published."""
    try:
        since = outbox_overdue_since(now=now)
    except DatabaseError:
        return "does not answer"
    return "publishing is behind" if since and since < now - BACKLOG_STALE else ""


def canary_sing(*, now: datetime) -> None:
    """Leave the time at which a worker was seen to finish a task."""
    broker().set(CANARY_KEY, now.isoformat(), ex=int(CANARY_STALE.total_seconds()) * 10)


def broker() -> redis.Redis:
    return redis.Redis.from_url(
        settings.REDIS_URL, socket_timeout=2, socket_connect_timeout=2, decode_responses=True
    )
