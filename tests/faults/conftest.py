"""Installations to be broken: prepared once a test run, shared by the tests of a module."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
import redis

from config.home import private_redis_url
from tests.faults.plant import GO, Plant
from tests.live_stack import home_prepared

# A task is held until the test lets it go; a lost message comes again after VISIBILITY_S.
TIME_LIMIT_S = 40
VISIBILITY_S = 6


@pytest.fixture(scope="module")
def standing(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Plant]:
    """An installation with its broker and relay running, and no worker yet."""
    yield from running(tmp_path_factory.mktemp("bare") / "home", demo=False)


@pytest.fixture(scope="module")
def demo_plant(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Plant]:
    """The demo with its stories sent, so that builds wait in the outbox; no worker yet."""
    yield from running(tmp_path_factory.mktemp("demo") / "home", demo=True)


def running(home: Path, *, demo: bool) -> Iterator[Plant]:
    home_prepared(home, demo=demo)
    waits = {"TEST_VISIBILITY_S": str(VISIBILITY_S)}
    plant = Plant(home, time_limit_s=TIME_LIMIT_S, more=waits)
    try:
        plant.start_broker()
        plant.start_relay()
        yield plant
    finally:
        plant.end()


@pytest.fixture
def plant(standing: Plant) -> Iterator[Plant]:
    """The shared installation, with nothing to do and no worker."""
    yield standing
    for name in ("worker", "second"):
        if name in standing.processes:
            standing.kill(name)
    if "broker" not in standing.processes:
        standing.start_broker()
    forget_everything(standing)


def forget_everything(plant: Plant) -> None:
    """Leave no message and no effect, in the broker or in the database."""
    redis.Redis.from_url(private_redis_url(plant.home)).flushall()
    with sqlite3.connect(plant.home / "setwright.sqlite3", timeout=20) as connection:
        for table in ("intake_outboxmessage", "intake_inboxmark"):
            connection.execute(f"DELETE FROM {table}")
        connection.execute("DELETE FROM intake_event WHERE kind = 'slow_effect'")
    for name in ("begun", GO):
        (plant.home / name).unlink(missing_ok=True)
