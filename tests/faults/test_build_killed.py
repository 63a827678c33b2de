"""A worker dies while it builds a quote; there is one quote in the end."""

from __future__ import annotations

import pytest

from tests.faults.plant import Plant

# Generous: the visibility time-out, a round of the broker's sweep, and the builds themselves.
FINISHED_S = 120
APP = "config.celery"

BUILDING = "SELECT count(*) FROM quotes_quote WHERE state = 'building'"
ASKED = "SELECT count(*) FROM intake_outboxmessage WHERE topic = 'quotes.build_quote'"
QUOTES = "SELECT count(*) FROM quotes_quote"
MESSAGES = "SELECT count(DISTINCT message_id) FROM quotes_quote"

pytestmark = [pytest.mark.faults, pytest.mark.redis]


def test_a_worker_killed_in_the_middle_of_a_build_leaves_one_quote(demo_plant: Plant) -> None:
    plant = demo_plant
    assert plant.one(ASKED) >= 1
    plant.start_worker(APP)
    plant.wait_for(lambda: plant.one(BUILDING) >= 1, 90, every_s=0.01)
    plant.kill("worker")
    assert plant.one(BUILDING) == 1, "it was killed in the middle"
    plant.start_worker(APP)
    plant.wait_for(lambda: plant.one(f"{ASKED} AND done_at IS NULL") == 0, FINISHED_S)
    assert plant.one(QUOTES) == plant.one(MESSAGES) == plant.one(ASKED)
    assert plant.one(BUILDING) == 0
