"""The id by which a request is found again."""

from __future__ import annotations

import pytest
import structlog
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory

from config.request_id import RequestIdMiddleware, accepted_request_id


def test_a_safe_id_is_kept_and_given_back() -> None:
    answer = Client().get("/health/live", headers={"x-request-id": "proxy-12345678"})
    assert answer.headers["X-Request-ID"] == "proxy-12345678"


@pytest.mark.parametrize("given", ["", "short", "x" * 65, "a b c d e f g", "id\nforged=1", "é" * 9])
def test_an_id_that_could_forge_a_log_line_is_replaced(given: str) -> None:
    made = accepted_request_id(given)
    assert made != given
    assert len(made) == 32


def test_the_id_is_bound_during_the_request_only() -> None:
    seen: dict[str, object] = {}

    def view(request: HttpRequest) -> HttpResponse:
        seen.update(structlog.contextvars.get_contextvars())
        return HttpResponse()

    request = RequestFactory().get("/", headers={"x-request-id": "proxy-12345678"})
    RequestIdMiddleware(view)(request)
    assert seen["request_id"] == "proxy-12345678"
    assert "request_id" not in structlog.contextvars.get_contextvars()
