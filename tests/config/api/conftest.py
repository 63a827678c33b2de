from __future__ import annotations

from collections.abc import Iterator

import pytest
import time_machine

from quotes.demo.company import company_load
from tests.config.api.caller import Caller
from tests.quotes.cast import NOW


@pytest.fixture(autouse=True)
def clock() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def caller(db: None) -> Caller:
    """A program with a key, and the demo company to hire from."""
    company_load(now=NOW)
    return Caller()
