"""The same creating call many times at the same moment makes one thing."""

from __future__ import annotations

import json
import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection
from django.test import Client

from intake.models import ApiRequest, HireRequest, IdempotencyRecord
from tests.config.api.caller import Caller

TIMES = 20

pytestmark = pytest.mark.django_db(transaction=True)


def sent_at_once(caller: Caller, bodies: list[dict[str, str]]) -> list[tuple[int, bytes]]:
    """Post every body from a thread of its own, all starting together, under one key."""
    together = threading.Barrier(len(bodies))

    def post(body: dict[str, str]) -> tuple[int, bytes]:
        own = Caller(text=caller.text, client=Client())
        together.wait(30)
        try:
            answer = own.make("requests", body, once="all-at-once-1")
            return answer.status_code, answer.content
        finally:
            connection.close()

    with ThreadPoolExecutor(len(bodies)) as threads:
        return list(threads.map(post, bodies))


@pytest.fixture
def ready(settings: pytest.FixtureRequest) -> Caller:
    settings.SETWRIGHT_API_CALLS_PER_MINUTE = 10_000  # type: ignore[attr-defined]
    return Caller()


def test_twenty_at_once_make_one_request_and_get_one_answer(ready: Caller) -> None:
    answers = sent_at_once(ready, [{"application": "dewatering"}] * TIMES)
    assert {status for status, _body in answers} <= {201, 409, 503}
    # As JSON: PostgreSQL keeps what is in an object, not the order it was written in.
    made = {
        json.dumps(json.loads(body), sort_keys=True) for status, body in answers if status == 201
    }
    assert len(made) == 1
    assert (HireRequest.objects.count(), ApiRequest.objects.count()) == (1, 1)
    assert IdempotencyRecord.objects.get().status == 201


def test_of_different_bodies_under_one_key_one_wins_and_the_rest_are_told(ready: Caller) -> None:
    kinds = ["dewatering", "event_lighting"] * 5
    answers = sent_at_once(ready, [{"application": kind} for kind in kinds])
    assert {status for status, _body in answers} <= {201, 422, 409, 503}
    assert HireRequest.objects.count() == 1
    assert sum(status == 201 for status, _body in answers) <= 5
    assert any(status == 422 for status, _body in answers)
