"""The whole schema, tried by schemathesis: no defect, no answer that is not in the document."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
import time_machine
from django.core import signals
from django.core.handlers.wsgi import WSGIHandler
from django.core.signals import got_request_exception
from django.db import close_old_connections, transaction
from hypothesis import HealthCheck, Phase, settings
from schemathesis.config import SchemathesisConfig
from schemathesis.specs.openapi.checks import ignored_auth

from config.api.schema import schema
from tests.config.api.contract import World, group_of, world_made
from tests.quotes.cast import NOW

SEED = 20_261_126
CONFIG = {
    "seed": SEED,
    "generation": {"deterministic": True, "allow-x00": False, "database": "none"},
    "phases": {
        "coverage": {"unexpected-methods": ["DELETE", "PATCH"]},
        "stateful": {"inference": {"algorithms": []}},
    },
    # Every limit of every field of a whole job or site would be hundreds of calls: a sample.
    "operations": [
        {"include-path": path, "include-method": method, "phases": {"coverage": {"enabled": False}}}
        for path, method in (
            ("/api/v1/sizing", "POST"), ("/api/v1/requests", "POST"), ("/api/v1/sites", "POST"),
            ("/api/v1/sites/{id}", "PATCH"),
        )
    ],
    "checks": {
        # A call can have the right form and be refused by what the job's own rules say.
        "positive_data_acceptance": {
            "expected-statuses": ["2xx", "401", "403", "404", "409", "412", "422"]
        },
        "negative_data_rejection": {
            "expected-statuses": ["400", "401", "403", "404", "405", "406", "409", "412", "413",
                                  "415", "422", "428"]
        },
        # A call with two faults may be refused for either.
        "missing_required_header": {
            "expected-statuses": ["400", "401", "404", "406", "415", "422", "428"]
        },
    },
}  # fmt: skip
HERE = settings(
    max_examples=2, deadline=None, database=None, derandomize=True,
    phases=[Phase.explicit, Phase.generate], suppress_health_check=list(HealthCheck),
)  # fmt: skip
CONTRACT = schemathesis.pytest.from_fixture("contract")


@pytest.fixture
def world(db: None) -> Iterator[World]:
    """The application is called in this process: the end of a call must not close the database."""
    with time_machine.travel(NOW, tick=False):
        made = world_made()  # by Django's own client, which connects the signals again
        for signal in (signals.request_started, signals.request_finished):
            signal.disconnect(close_old_connections)
        yield made
    for signal in (signals.request_started, signals.request_finished):
        signal.connect(close_old_connections)


@pytest.fixture
def contract(world: World) -> Any:
    """The schema, with the application that serves it."""
    found = schemathesis.openapi.from_dict(
        copy.deepcopy(schema()), config=SchemathesisConfig.from_dict(CONFIG)
    )
    found.app = WSGIHandler()
    return found


class undone(transaction.Atomic):
    """A transaction of which nothing stays."""

    def __init__(self) -> None:
        super().__init__(using=None, savepoint=True, durable=False)

    def __exit__(self, *_: Any) -> None:
        transaction.set_rollback(True)
        super().__exit__(None, None, None)


@pytest.fixture(autouse=True)
def many_calls(settings: Any) -> None:
    settings.SETWRIGHT_API_CALLS_PER_MINUTE = 1_000_000
    settings.SETWRIGHT_WEBHOOKS_TO_LOOPBACK = False


@pytest.fixture(autouse=True)
def defects() -> Iterator[None]:
    """A defect shows itself, not only its 500."""
    seen: list[Any] = []

    def keep(sender: Any, **_: Any) -> None:
        import traceback

        seen.append(traceback.format_exc())

    got_request_exception.connect(keep)
    yield
    got_request_exception.disconnect(keep)
    assert not seen, "\n".join(seen[:3])


def led_somewhere(case: Any, world: World) -> None:
    """Give a call of the right form the address of something that is there."""
    known = world.paths.get(group_of(case.operation.path), {})
    if case.meta is None or case.meta.generation.mode.is_negative:
        return
    for name in case.path_parameters or {}:
        if name in known:
            case.path_parameters[name] = known[name]
    if case.headers is not None and "If-Match" in case.headers:
        case.headers["If-Match"] = "*"


def tried(case: Any, world: World) -> None:
    led_somewhere(case, world)
    with undone():
        case.call_and_validate(headers=world.headers)


@CONTRACT.include(tag=["requests", "sizing", "key", "catalogue"]).parametrize()
@HERE
def test_calls_of_a_customer_are_answered_as_documented(case: Any, world: World) -> None:
    tried(case, world)


@CONTRACT.include(tag=["quotes", "cases", "bookings", "emergency"]).parametrize()
@HERE
def test_calls_of_the_desk_are_answered_as_documented(case: Any, world: World) -> None:
    tried(case, world)


@CONTRACT.include(tag=["owner", "webhooks", "sites"]).parametrize()
@HERE
def test_calls_of_the_owner_are_answered_as_documented(case: Any, world: World) -> None:
    tried(case, world)


def test_calls_that_follow_from_each_other_are_answered_as_documented(
    contract: Any, world: World
) -> None:
    class Following(contract.as_state_machine()):  # type: ignore[misc]
        """Calls along the links of the document, each scenario undone at its end."""

        def setup(self) -> None:
            self.scenario = undone()
            self.scenario.__enter__()

        def teardown(self) -> None:
            self.scenario.__exit__()
            super().teardown()

        def get_call_kwargs(self, case: Any) -> dict[str, Any]:
            return {"headers": world.headers}

        def validate_response(self, response: Any, case: Any, *_: Any, **kwargs: Any) -> None:
            # The key is tried in the tests above; here the check takes the real one for made up.
            case.validate_response(
                response, excluded_checks=[ignored_auth], transport_kwargs=kwargs
            )

    Following.run(settings=settings(HERE, max_examples=8, stateful_step_count=8))
