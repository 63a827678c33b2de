from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
import time_machine

from tests.config.api.caller import Caller

NOW = datetime(2027, 5, 10, 15, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def clock() -> Iterator[None]:
    """The day on which the demo's story is asked."""
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def demo_fleet(settings: Any) -> None:
    settings.SETWRIGHT_FLEET_SOURCE = "tests.intake.visitor.demo_fleet"
    settings.SETWRIGHT_BRANCH_SOURCE = "tests.intake.visitor.demo_branches"


@pytest.fixture
def caller(db: None, demo_fleet: None) -> Caller:
    """A program with a key for everything but the desk."""
    return Caller()


@pytest.fixture
def other(db: None) -> Caller:
    """A program of somebody else."""
    return Caller(name="another office")
