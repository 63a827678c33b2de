from __future__ import annotations

from collections.abc import Iterator

import pytest
import time_machine

from tests.config.api.caller import WHOLE, Caller, document
from tests.quotes.cast import NOW


@pytest.fixture(autouse=True)
def clock() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def caller(company: None) -> Caller:
    """A program with a key, and the demo company to hire from."""
    return Caller()


@pytest.fixture
def sent(caller: Caller) -> str:
    """The reference of a request that was found clear and waits for its quote."""
    made = document(caller.make("requests", WHOLE), 201)
    address = f"requests/{made['reference']}"
    document(caller.make(f"{address}/submission", seen=f'"{made["version"]}"'))
    return str(made["reference"])
