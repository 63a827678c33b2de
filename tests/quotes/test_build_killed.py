"""A worker is killed in the middle of a build; in the end there is exactly one quote."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.faults.plant import TIME_LIMIT_S, Plant

pytestmark = [pytest.mark.faults, pytest.mark.redis]
REDELIVERED_S = TIME_LIMIT_S + 5 + 5 + 60
IN_A_STEP = """SELECT count(*) FROM quotes_buildstep fleet
JOIN quotes_buildstep price ON price.quote_id = fleet.quote_id AND price.name = 'price'
WHERE fleet.name = 'fleet' AND fleet.finished_at IS NOT NULL AND price.finished_at IS NULL"""
LEFT = """SELECT count(*) FROM intake_outboxmessage
WHERE topic = 'quotes.build_quote' AND done_at IS NULL"""


@pytest.fixture
def plant(tmp_path: Path) -> Iterator[Plant]:
    """The demo with its stories sent, its broker and relay running, and no worker yet."""
    plant = Plant(home=tmp_path)
    plant.run("config", "migrate", "--verbosity", "0")
    plant.run("config", "load_demo")
    plant.start_broker()
    plant.start_relay()
    yield plant
    plant.end()


def test_a_worker_killed_in_a_build_leaves_one_quote_each(plant: Plant) -> None:
    asked = plant.one(LEFT)
    plant.start_worker("tests.quotes.slow_build")
    plant.wait_for(lambda: plant.one(IN_A_STEP) > 0, 90)
    plant.kill("worker")
    assert plant.one(LEFT) > 0
    plant.start_worker("tests.quotes.slow_build")
    plant.wait_for(lambda: plant.one(LEFT) == 0, REDELIVERED_S + 60)
    assert plant.one("SELECT count(*) FROM quotes_quote WHERE state = 'offered'") == asked
    assert plant.one("SELECT count(*) FROM quotes_quote") == asked
    mails = "SELECT count(*) FROM intake_outboxmessage WHERE topic = 'quotes.mail_offer'"
    assert plant.one(mails) == asked
