"""A message comes again, or late; it takes effect once."""

from __future__ import annotations

import pytest

from tests.faults.acts import SLOW
from tests.faults.plant import Plant

SOON_S = 60
HELD_S = 30  # within which the test sees it begun, and lets it go

pytestmark = [pytest.mark.faults, pytest.mark.redis]


def test_a_message_that_comes_three_times_takes_effect_once(plant: Plant) -> None:
    plant.start_worker()
    plant.put(SLOW, seconds=0)
    plant.wait_for(plant.done, SOON_S)
    plant.run("tests.faults.acts", "again")
    plant.wait_for(lambda: plant.heard("worker", "received") == 3, SOON_S)
    plant.wait_for(lambda: plant.heard("worker", "succeeded in") == 3, SOON_S)
    assert len(plant.begun()) == plant.effects() == 1


def test_a_worker_that_wakes_up_late_adds_nothing(plant: Plant) -> None:
    """It stood still, longer than the broker waits, with the task in its hands."""
    plant.start_worker()
    plant.put(SLOW, seconds=HELD_S)
    plant.wait_for(lambda: len(plant.begun()) == 1, SOON_S)
    plant.freeze("worker")
    plant.let_go()
    plant.start_worker(name="second")
    plant.wait_for(lambda: plant.heard("second", "received") == 1, SOON_S)
    plant.thaw("worker")
    plant.wait_for(plant.done, SOON_S)
    plant.wait_for(lambda: plant.heard("second", "succeeded in") == 1, SOON_S)
    assert plant.effects() == 1
