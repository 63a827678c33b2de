"""Who gets in where: the whole map of addresses, walked by a stranger and by each role.

What is public is the list below and nothing else; a new page is closed until somebody adds it here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.contrib.auth.models import User
from django.test import Client

from intake.models import HireRequest
from intake.requests.links import COOKIE, link_token
from quotes.models import Order, Rate
from tests.config.routes import Route, routes
from tests.intake.desk import cast as desk_cast
from tests.quotes import cast
from tests.quotes.handover import walking

ROOT = Path(__file__).resolve().parents[2]
PUBLIC = {
    "intake:start": "the first page",
    "login": "signing in, for staff",
    "health_live": "says ok", "health_ready": "says ok or not", "health_work": "says ok or not",
    "api:viewer": "how to use the API", "api:openapi": "the same for programs",
    "quotes:express": "the one page of an emergency", "quotes:body_link": "asking for a link",
    "quotes:sign_worker": "a script that keeps a driver's page; it names files alone",
}  # fmt: skip
CLOSED = {301, 302, 400, 401, 403, 404, 405, 409, 429}
OWN_ACCOUNT = {"password", "password_changed", "sessions"}
INLINE = re.compile(r"^on[a-z]+$|^hx-on")


@pytest.fixture
def order(db: None) -> Iterator[Order]:
    """A hire under way, so that there is something behind every door."""
    from quotes.demo.company import company_load

    with time_machine.travel(cast.NOW, tick=False):
        company_load(now=cast.NOW)
        made = walking.ordered()
        walking.sign(walking.out_of(made))
        yield made


@pytest.fixture(autouse=True)
def _closed_metrics(settings: Any) -> None:
    settings.METRICS_TOKEN = "known to nobody here"
    settings.REDIS_URL = "redis://127.0.0.1:1/0"


def known_of(order: Order) -> dict[str, str]:
    return {
        "reference": order.request.reference,
        "number": order.number,
        "unit": walking.out_of(order).unit.number,
        "kind": "return",
        "name": "sheet",
        "step": "site",
        "load_act": "copy",
        "key": "supply",
        "app_label": "quotes",
    }


def walk(
    client: Client, order: Order, method: str = "get", *, among: list[Route] | None = None
) -> dict[Route, Any]:
    """What every address answers this visitor, or every one among some."""
    known = known_of(order)
    walked = routes() if among is None else among
    return {route: getattr(client, method)(route.address(known)) for route in walked}


def opened(answers: dict[Route, Any]) -> set[str]:
    return {route.name for route, answer in answers.items() if answer.status_code not in CLOSED}


def test_the_map_is_not_empty() -> None:
    names = {route.name for route in routes()}
    assert len(names) > 150
    assert {"intake:start", "desk:case", "quotes:desk_sheet", "admin:quotes_rate_add"} <= names


def test_a_stranger_reads_what_is_public_and_nothing_else(client: Client, order: Order) -> None:
    answers = walk(client, order)
    assert opened(answers) == set(PUBLIC) & {route.name for route in answers}
    rates = Rate.objects.filter(day__gte=100)  # smaller ones are in anybody's examples
    prices = {str(value) for value in rates.values_list("day", flat=True)}
    assert len(prices) > 5
    for route, answer in answers.items():
        assert not [p for p in prices if p.encode() in answer.content], route
        for said in (*cast.CONTACT.values(), str(order.quote.total)):
            assert said.encode() not in answer.content, route
        page_is_clean(answer, route.name)


def test_a_stranger_writes_nothing(client: Client, order: Order) -> None:
    before = HireRequest.objects.values_list("pk", "version", "status")
    kept = list(before)
    assert opened(walk(client, order, "post")) <= set(PUBLIC)
    assert list(before.all()) == kept


@pytest.mark.parametrize("role", ["viewer", "manager"])
def test_staff_get_the_desk_and_no_customers_page(client: Client, order: Order, role: str) -> None:
    user = desk_cast.person("somebody", role)
    User.objects.filter(pk=user.pk).update(is_staff=role == "manager")
    client.force_login(User.objects.get(pk=user.pk))
    tables = role != "manager"  # a manager's are opened one by one in tests/quotes/test_admin.py
    among = [one for one in routes() if tables or not one.name.startswith("admin:")]
    answers = walk(client, order, among=among)
    beyond = {route: answer for route, answer in answers.items() if route.pattern[:5] != "desk/"}
    assert opened(beyond) <= set(PUBLIC) | OWN_ACCOUNT
    for route, answer in answers.items():
        page_is_clean(answer, route.name)


def test_a_customer_gets_the_own_pages_and_nobody_elses(client: Client, order: Order) -> None:
    other = cast.request_in_pricing()
    client.cookies[COOKIE] = link_token(order.request.reference, 1)
    among = [route for route in routes() if route.pattern.startswith("request/")]
    answers = walk(client, order, among=among)
    assert {"quotes:offer", "quotes:document", "quotes:handover"} <= opened(answers)
    for route, answer in answers.items():
        page_is_clean(answer, route.name)
        if "<str:reference>" in route.pattern and answer.status_code not in CLOSED:
            where = route.address({**known_of(order), "reference": other.reference})
            assert client.get(where).status_code == 404, route


def page_is_clean(answer: Any, name: str) -> None:
    """No style or script in the page itself: the policy forbids it, and nothing leans on it."""
    if not answer.headers.get("Content-Type", "").startswith("text/html"):
        return
    policy = answer.headers["Content-Security-Policy"]
    assert "unsafe" not in policy, name
    for directive in ("object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'"):
        assert directive in policy, name
    assert inline_parts(answer.content.decode()) == [], name


def inline_parts(html: str) -> list[str]:
    page = BeautifulSoup(html, "html.parser")
    found = [str(tag)[:80] for tag in page.find_all("style")]
    for tag in page.find_all(True):
        found += [
            f"{name} of {tag.name}" for name in tag.attrs if name == "style" or INLINE.match(name)
        ]
        if str(tag.get("href", "")).lower().startswith("javascript:"):
            found.append(str(tag)[:80])
        runs = tag.name == "script" and tag.get("type", "") not in ("application/json", "text/html")
        if runs and not tag.get("src"):
            found.append(str(tag)[:80])
    return found


def test_the_check_finds_each_kind_of_inline_part() -> None:
    assert len(inline_parts('<style>p{}</style><p style="x" onclick="y()">')) == 3
    assert len(inline_parts('<a href="javascript:x()">a</a><script>x()</script>')) == 2
    assert (
        inline_parts('<script src="a.js"></script><script type="application/json">{}</script>')
        == []
    )


WRITTEN = re.compile(
    r"<style[\s>]|\sstyle\s*=|\son[a-z]+\s*=|hx-on|javascript:|<script(?![^>]*(src=|json))", re.I
)


def test_no_template_holds_a_style_or_a_script_of_its_own() -> None:
    for template in ROOT.glob("*/templates/**/*.html"):
        assert not WRITTEN.search(template.read_text()), template.name
