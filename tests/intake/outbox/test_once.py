"""Tasks that take effect once, and sweeps that run once a slot."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from celery import Celery
from django.db import connection
from hypothesis import given
from hypothesis import strategies as st

from intake.models import InboxMark
from intake.outbox.once import (
    handles_once,
    marks_tidy,
    once_a_slot,
    sends_once,
    slot_start,
    slot_taken,
)

NOW = datetime(2027, 6, 1, 12, 0, 7, tzinfo=UTC)


@pytest.mark.django_db
def test_a_task_delivered_twice_takes_effect_once() -> None:
    seen: list[str] = []
    app = Celery("once", set_as_current=False)

    @app.task(name="greet")
    @handles_once("greet")
    def greet(name: str) -> None:
        seen.append(name)

    message = str(uuid4())
    for _ in range(2):
        greet.apply(kwargs={"name": "Ana"}, task_id=message)
    greet.apply(kwargs={"name": "Bo"}, task_id=str(uuid4()))
    assert seen == ["Ana", "Bo"]


@pytest.mark.django_db(transaction=True)
def test_a_letter_is_sent_once_and_outside_any_transaction() -> None:
    sent: list[tuple[str, bool]] = []
    app = Celery("once", set_as_current=False)

    @app.task(name="write")
    @sends_once("write")
    def write(to: str) -> None:
        sent.append((to, connection.in_atomic_block))

    message = str(uuid4())
    for _ in range(2):
        write.apply(kwargs={"to": "ana@example.com"}, task_id=message)
    assert sent == [("ana@example.com", False)]


@pytest.mark.django_db(transaction=True)
def test_a_letter_that_could_not_be_sent_is_sent_later() -> None:
    tries: list[int] = []
    app = Celery("once", set_as_current=False)

    @app.task(name="write")
    @sends_once("write")
    def write() -> None:
        tries.append(1)
        if len(tries) == 1:
            raise ConnectionRefusedError("mail server away")

    message = str(uuid4())
    assert write.apply(task_id=message).failed()
    assert write.apply(task_id=message).result is True
    assert len(tries) == 2


@pytest.mark.django_db
def test_two_beats_sweep_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("intake.outbox.once.timezone.now", lambda: NOW)
    runs: list[datetime] = []

    @once_a_slot("sweep", every_s=30)
    def sweep(*, now: datetime) -> None:
        runs.append(now)

    assert [sweep(), sweep()] == [True, False]
    assert runs == [NOW]


@pytest.mark.django_db
def test_each_sweep_and_each_slot_is_taken_for_itself() -> None:
    slot = slot_start(NOW, 30)
    assert slot_taken(name="sweep", slot=slot, now=NOW)
    assert not slot_taken(name="sweep", slot=slot, now=NOW)
    assert slot_taken(name="other", slot=slot, now=NOW)
    assert slot_taken(name="sweep", slot=slot + timedelta(seconds=30), now=NOW)


@given(st.integers(0, 3_000_000_000), st.sampled_from([1, 30, 60, 3600, 86400]))
def test_a_slot_holds_the_moment_it_is_of(second: int, every_s: int) -> None:
    moment = datetime.fromtimestamp(second, tz=UTC)
    start = slot_start(moment, every_s)
    assert start <= moment < start + timedelta(seconds=every_s)
    assert slot_start(start, every_s) == start


@pytest.mark.django_db
def test_only_old_marks_are_deleted() -> None:
    for age in (1, 40):
        InboxMark.objects.create(message_id=uuid4(), handler="x", done_at=NOW - timedelta(days=age))
    assert marks_tidy(now=NOW, older_than=timedelta(days=30)) == 1
    assert InboxMark.objects.get().done_at == NOW - timedelta(days=1)
