"""Where a caller is, what every answer carries, and how often a form may come."""

from __future__ import annotations

from typing import Any

import pytest
from bs4 import BeautifulSoup
from django.core.cache import cache
from django.http import HttpResponse
from django.test import Client, RequestFactory

from config.client_address import client_address
from config.headers import HeadersMiddleware
from config.throttle import WINDOW_S, over_the_limit
from intake.models import HireRequest

ELSEWHERE = "198.51.100.7"


@pytest.mark.parametrize(
    ("told", "proxies", "address"),
    [
        ("203.0.113.5", 1, "203.0.113.5"),
        ("1.2.3.4, 203.0.113.5", 1, "203.0.113.5"),  # what the caller forged stands left
        ("1.2.3.4, 203.0.113.5, 10.0.0.2", 2, "203.0.113.5"),
        ("2001:db8::7", 1, "2001:db8::7"),
        ("", 1, "10.0.0.1"),
        ("203.0.113.5", 2, "10.0.0.1"),
        ("not an address", 1, "10.0.0.1"),
    ],
)
def test_only_what_our_own_proxies_added_is_believed(told: str, proxies: int, address: str) -> None:
    assert client_address(told, peer="10.0.0.1", proxies=proxies) == address


def test_without_a_proxy_the_header_is_nothing(client: Client, settings: Any) -> None:
    from django.test import RequestFactory

    from config.client_address import ClientAddressMiddleware

    seen: list[str] = []
    middleware = ClientAddressMiddleware(lambda r: seen.append(r.META["REMOTE_ADDR"]))  # type: ignore[arg-type, func-returns-value]
    request = RequestFactory().get("/", headers={"x-forwarded-for": "203.0.113.5"})
    middleware(request)
    settings.PROXIES = 1
    middleware(request)
    assert seen == ["127.0.0.1", "203.0.113.5"]


def test_every_answer_carries_the_headers(client: Client) -> None:
    headers = client.get("/health/live").headers
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
    assert "payment=()" in headers["Permissions-Policy"]
    policy = headers["Content-Security-Policy"].split("; ")
    assert {"default-src 'self'", "script-src 'self'", "style-src 'self'"} <= set(policy)


def test_a_view_may_set_a_stricter_policy(rf: RequestFactory) -> None:
    stricter = HttpResponse(headers={"Content-Security-Policy": "default-src 'none'; sandbox"})
    answer = HeadersMiddleware(lambda request: stricter)(rf.get("/"))
    assert answer.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"


@pytest.mark.django_db
def test_programs_are_not_led_from_http_to_https(client: Client, settings: Any) -> None:
    settings.SECURE_SSL_REDIRECT = True
    refused = client.get("/api/v1/nothing-here")
    assert (refused.status_code, refused.json()["code"]) == (403, "https_only")
    assert client.get("/api/v1/nothing-here", secure=True).status_code == 404
    assert client.get("/").status_code == 301, "people are"


@pytest.mark.django_db
def test_an_address_starts_so_many_requests_an_hour(client: Client, settings: Any) -> None:
    cache.clear()
    settings.FORMS_AN_HOUR = {"intake:start": 2}
    given = {"application": "dewatering"}
    answers = [client.post("/", given, REMOTE_ADDR=ELSEWHERE) for _ in range(3)]
    assert [answer.status_code for answer in answers] == [302, 302, 429]
    assert HireRequest.objects.count() == 2
    assert 0 < int(answers[2].headers["Retry-After"]) <= WINDOW_S
    assert client.post("/", given, REMOTE_ADDR="198.51.100.8").status_code == 302
    assert client.get("/", REMOTE_ADDR=ELSEWHERE).status_code == 200, "reading is free"
    assert client.post("/", given).status_code == 302, "this machine itself is not counted"
    cache.clear()


@pytest.mark.django_db
def test_the_page_says_what_to_do_in_either_language(client: Client, settings: Any) -> None:
    cache.clear()
    settings.FORMS_AN_HOUR = {"intake:start": 0}
    for language, words in (("en", "Go back: what you typed"), ("es", "Vuelva atrás")):
        refused = client.post("/", {}, REMOTE_ADDR=ELSEWHERE, headers={"accept-language": language})
        assert words in BeautifulSoup(refused.content, "html.parser").text
    cache.clear()


def test_the_next_hour_begins_anew() -> None:
    cache.clear()
    assert [over_the_limit("a", ELSEWHERE, most=1, now_s=7199) for _ in range(2)] == [0, 1]
    assert over_the_limit("a", ELSEWHERE, most=1, now_s=7200) == 0
    cache.clear()
