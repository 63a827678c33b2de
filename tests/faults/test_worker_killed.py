"""Workers die in the middle of a task; the task takes effect once all the same."""

from __future__ import annotations

import pytest
import redis

from config.home import private_redis_url
from tests.faults.acts import DEADLY, SLOW
from tests.faults.plant import Plant

# Generous: what is waited for comes after the visibility time-out, twice it at most.
SOON_S = 180
HELD_S = 30  # within which the test sees it begun, and lets it go

pytestmark = [pytest.mark.faults, pytest.mark.redis]


def test_a_killed_pool_process_leaves_one_effect(plant: Plant) -> None:
    plant.start_worker()
    plant.put(SLOW, seconds=HELD_S)
    plant.wait_for(lambda: len(plant.begun()) == 1, SOON_S)
    plant.kill_child(plant.begun()[0])
    plant.let_go()
    plant.wait_for(plant.done, SOON_S)
    assert len(plant.begun()) == 2
    assert plant.effects() == 1


def test_a_killed_worker_leaves_one_effect(plant: Plant) -> None:
    plant.start_worker()
    plant.put(SLOW, seconds=HELD_S)
    plant.wait_for(lambda: len(plant.begun()) == 1, SOON_S)
    plant.kill("worker")
    plant.let_go()
    assert plant.effects() == 0, "what the dead worker had not finished is undone"
    plant.start_worker()
    plant.wait_for(plant.done, SOON_S)
    assert plant.effects() == 1


def test_a_task_that_kills_its_workers_is_parked(plant: Plant) -> None:
    plant.start_worker()
    plant.put(DEADLY, seconds=0)
    parked = "SELECT count(*) FROM intake_outboxmessage WHERE parked_at IS NOT NULL"
    plant.wait_for(lambda: plant.one(parked) == 1, SOON_S)
    assert len(plant.begun()) == 3


def test_a_broker_that_forgets_everything_loses_nothing(plant: Plant) -> None:
    plant.put(SLOW, seconds=0)
    published = "SELECT count(published_at) FROM intake_outboxmessage"
    plant.wait_for(lambda: plant.one(published) == 1, SOON_S)
    redis.Redis.from_url(private_redis_url(plant.home)).flushall()
    plant.start_worker()
    plant.wait_for(plant.done, SOON_S)
    assert plant.effects() == 1


def test_a_broker_that_was_away_gets_what_was_put_meanwhile(plant: Plant) -> None:
    plant.kill("broker")
    plant.put(SLOW, seconds=0)
    plant.start_worker()
    plant.start_broker()
    plant.wait_for(plant.done, SOON_S)
    assert plant.effects() == 1


def test_a_worker_outlives_a_broker_whose_end_it_hears_by_remote_control(plant: Plant) -> None:
    """Of both connections that end, the worker is made to see remote control's first.

    One of its two processes is free, so that the other connection waits for a task meanwhile.
    """
    plant.start_worker(processes=2)
    plant.put(SLOW, seconds=HELD_S)
    plant.wait_for(lambda: len(plant.begun()) == 1, SOON_S)
    plant.freeze("worker")
    redis.Redis.from_url(private_redis_url(plant.home)).client_kill_filter(_type="pubsub")
    plant.kill("broker")
    plant.thaw("worker")
    plant.wait_for(lambda: "Connection to broker lost" in plant.log("worker"), SOON_S)
    plant.start_broker()
    plant.wait_for(lambda: plant.log("worker").count("Connected to ") == 2, SOON_S)
    plant.let_go()
    plant.wait_for(plant.done, SOON_S)
    assert plant.effects() == 1
