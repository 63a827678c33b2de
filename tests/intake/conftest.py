from __future__ import annotations

from typing import Any

import pytest

from tests.intake.visitor import Visitor


@pytest.fixture
def demo_fleet(settings: Any) -> None:
    settings.SETWRIGHT_FLEET_SOURCE = "tests.intake.visitor.demo_fleet"


@pytest.fixture
def customer(db: None, demo_fleet: None) -> Visitor:
    """A customer who has just started a request for a pump."""
    visitor = Visitor()
    visitor.start()
    return visitor


@pytest.fixture
def stranger(db: None) -> Visitor:
    """Somebody else, with a request of their own."""
    visitor = Visitor()
    visitor.start()
    return visitor
