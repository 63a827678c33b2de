"""Alive, ready, working: three questions with three answers."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import redis
from django.db import DatabaseError, transaction
from django.test import Client

from config.health import (
    BACKLOG_STALE,
    CANARY_STALE,
    canary_sing,
    outbox_trouble,
    worker_trouble,
)
from intake.outbox.services import outbox_put

NOW = datetime(2027, 6, 1, 12, tzinfo=UTC)


def test_alive_asks_nothing() -> None:
    answer = Client().get("/health/live")
    assert (answer.status_code, answer.json()) == (200, {"status": "ok"})
    assert "no-store" in answer.headers["Cache-Control"]


@pytest.mark.django_db
def test_ready_with_a_database_that_is_up_to_date() -> None:
    assert Client().get("/health/ready").json() == {"status": "ok", "database": "ok"}


def test_not_ready_without_a_database(monkeypatch: pytest.MonkeyPatch) -> None:
    def away(*_: object) -> None:
        raise DatabaseError("connection refused")

    monkeypatch.setattr("config.health.MigrationExecutor", away)
    answer = Client().get("/health/ready")
    assert answer.status_code == 503
    assert answer.json() == {"status": "unavailable", "database": "does not answer"}


@pytest.mark.django_db
def test_a_broker_that_is_away_is_told_but_leaves_the_site_ready(settings: Any) -> None:
    settings.REDIS_URL = "redis://127.0.0.1:1/0"
    answer = Client().get("/health/work")
    assert answer.status_code == 503
    assert answer.json()["worker"] == "broker does not answer"
    assert Client().get("/health/ready").status_code == 200


@pytest.mark.redis
def test_a_worker_is_trusted_while_its_canary_sings(redis_url: str, settings: Any) -> None:
    settings.REDIS_URL = redis_url
    redis.Redis.from_url(redis_url).flushall()
    assert worker_trouble(NOW) == "no task finished of late"
    canary_sing(now=NOW)
    assert worker_trouble(NOW + CANARY_STALE) == ""
    assert worker_trouble(NOW + CANARY_STALE + timedelta(seconds=1)) == "no task finished of late"


@pytest.mark.django_db
def test_work_that_waits_too_long_to_be_published_is_told() -> None:
    with transaction.atomic():
        outbox_put(topic="quotes.build", payload={}, now=NOW)
    assert outbox_trouble(NOW + BACKLOG_STALE) == ""
    assert outbox_trouble(NOW + BACKLOG_STALE + timedelta(seconds=1)) == "publishing is behind"
