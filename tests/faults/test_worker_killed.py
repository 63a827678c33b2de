"""Workers die in the middle of a task; the task takes effect once all the same."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
import redis

from config.home import private_redis_url
from tests.faults.acts import DEADLY, SLOW
from tests.faults.plant import TIME_LIMIT_S, Plant

# The broker offers a message again after the visibility time-out and one round of its sweep.
REDELIVERED_S = TIME_LIMIT_S + 5 + 5 + 10
REPUBLISHED_S = 2 * (TIME_LIMIT_S + 5) + 15

pytestmark = [pytest.mark.faults, pytest.mark.redis]


@pytest.fixture
def plant(tmp_path: Path) -> Iterator[Plant]:
    """A prepared installation with its broker and relay running, and no worker yet."""
    plant = Plant(home=tmp_path)
    try:
        plant.run("config", "migrate", "--verbosity", "0")
        plant.start_broker()
        plant.start_relay()
        yield plant
    finally:
        plant.end()


def test_a_killed_pool_process_leaves_one_effect(plant: Plant) -> None:
    plant.start_worker()
    plant.put(SLOW, seconds=3)
    plant.wait_for(lambda: len(plant.begun()) == 1, 30)
    plant.kill_child(plant.begun()[0])
    plant.wait_for(plant.done, REDELIVERED_S + 10)
    assert len(plant.begun()) == 2
    assert plant.effects() == 1


def test_a_killed_worker_leaves_one_effect(plant: Plant) -> None:
    plant.start_worker()
    plant.put(SLOW, seconds=3)
    plant.wait_for(lambda: len(plant.begun()) == 1, 30)
    plant.kill("worker")
    assert plant.effects() == 0, "what the dead worker had not finished is undone"
    plant.start_worker()
    plant.wait_for(plant.done, REDELIVERED_S + 20)
    assert plant.effects() == 1


def test_a_task_that_kills_its_workers_is_parked(plant: Plant) -> None:
    plant.start_worker()
    plant.put(DEADLY, seconds=0)
    parked = "SELECT count(*) FROM intake_outboxmessage WHERE parked_at IS NOT NULL"
    plant.wait_for(lambda: plant.one(parked) == 1, REDELIVERED_S + 30)
    assert len(plant.begun()) == 3


def test_a_broker_that_forgets_everything_loses_nothing(plant: Plant) -> None:
    plant.put(SLOW, seconds=0)
    published = "SELECT count(published_at) FROM intake_outboxmessage"
    plant.wait_for(lambda: plant.one(published) == 1, 30)
    redis.Redis.from_url(private_redis_url(plant.home)).flushall()
    plant.start_worker()
    plant.wait_for(plant.done, REPUBLISHED_S + 30)
    assert plant.effects() == 1


def test_a_broker_that_was_away_gets_what_was_put_meanwhile(plant: Plant) -> None:
    plant.kill("broker")
    plant.put(SLOW, seconds=0)
    plant.start_worker()
    plant.start_broker()
    plant.wait_for(plant.done, 60)
    assert plant.effects() == 1
