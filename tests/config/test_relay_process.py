"""How the relay paces itself."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from django.db import OperationalError

from config.relay_process import IDLE_S, LONGEST_WAIT_S, relay_round
from intake.outbox.errors import BrokerAway
from intake.outbox.relay import BATCH

NOW = datetime(2027, 6, 1, 12, tzinfo=UTC)


def rest(monkeypatch: pytest.MonkeyPatch, outcome: int | Exception, rested_s: float) -> float:
    def once(*, now: datetime) -> int:
        if isinstance(outcome, Exception):
            raise outcome
        return outcome

    monkeypatch.setattr("intake.outbox.relay.relay_once", once)
    monkeypatch.setattr("django.db.close_old_connections", lambda: None)
    return relay_round(now=NOW, rested_s=rested_s)


def test_after_a_full_batch_it_goes_on_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    assert rest(monkeypatch, BATCH, IDLE_S) == 0


@pytest.mark.parametrize("sent", [0, BATCH - 1])
def test_with_little_to_do_it_rests_a_moment(monkeypatch: pytest.MonkeyPatch, sent: int) -> None:
    assert rest(monkeypatch, sent, LONGEST_WAIT_S) == IDLE_S


@pytest.mark.parametrize("trouble", [BrokerAway("refused"), OperationalError("gone")])
def test_in_trouble_it_waits_longer_each_time(
    monkeypatch: pytest.MonkeyPatch, trouble: Exception
) -> None:
    waits = [IDLE_S]
    for _ in range(7):
        waits.append(rest(monkeypatch, trouble, waits[-1]))
    assert waits[1:] == [0.5, 1, 2, 4, 8, LONGEST_WAIT_S, LONGEST_WAIT_S]
