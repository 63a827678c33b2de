"""A worker dies while it builds a quote; there is one quote in the end."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.faults.plant import Plant

TIME_LIMIT_S = 30
# The visibility time-out, a round of the broker's sweep, and the builds themselves.
FINISHED_S = TIME_LIMIT_S * 5 / 4 + 5 + 60
APP = "config.celery"

BUILDING = "SELECT count(*) FROM quotes_quote WHERE state = 'building'"
ASKED = "SELECT count(*) FROM intake_outboxmessage WHERE topic = 'quotes.build_quote'"
QUOTES = "SELECT count(*) FROM quotes_quote"
MESSAGES = "SELECT count(DISTINCT message_id) FROM quotes_quote"

pytestmark = [pytest.mark.faults, pytest.mark.redis]


@pytest.fixture
def plant(tmp_path: Path) -> Iterator[Plant]:
    """The demo with its stories sent, so that builds wait in the outbox; no worker yet."""
    plant = Plant(home=tmp_path, time_limit_s=TIME_LIMIT_S)
    try:
        plant.run("config", "migrate", "--verbosity", "0")
        plant.run("config", "load_demo")
        plant.start_broker()
        plant.start_relay()
        yield plant
    finally:
        plant.end()


def test_a_worker_killed_in_the_middle_of_a_build_leaves_one_quote(plant: Plant) -> None:
    assert plant.one(ASKED) >= 1
    plant.start_worker(APP)
    plant.wait_for(lambda: plant.one(BUILDING) >= 1, 90, every_s=0.01)
    plant.kill("worker")
    assert plant.one(BUILDING) == 1, "it was killed in the middle"
    plant.start_worker(APP)
    plant.wait_for(lambda: plant.one(f"{ASKED} AND done_at IS NULL") == 0, FINISHED_S)
    assert plant.one(QUOTES) == plant.one(MESSAGES) == plant.one(ASKED)
    assert plant.one(BUILDING) == 0
