"""The promises of the quote's pages, each held by a real browser."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from playwright.sync_api import Browser, BrowserContext, Page

from intake.models import HireRequest
from intake.requests.links import link_token
from quotes.acceptance.services import Signature, quote_accept
from quotes.demo.company import company_load
from quotes.models import Quote
from quotes.offers.services import offers_expire
from tests.browser.intake_pages import (
    NARROW,
    SMALL_TARGETS,
    contexts,
    violations,
    wider_than_screen,
)
from tests.quotes.cast import NOW, deliver, quote_asked, quoted, request_in_pricing

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PAGES = ["open", "accept", "accept_error", "change", "decline", "progress", "ordered", "expired"]


@pytest.fixture(autouse=True)
def _frozen() -> Iterator[None]:
    with time_machine.travel(NOW, tick=True):
        yield


@pytest.fixture
def phone(browser: Browser, live_server: Any) -> Iterator[BrowserContext]:
    company_load(now=NOW)
    yield from contexts(browser, live_server.url, bypass_csp=True)


def opened(phone: BrowserContext, request: HireRequest) -> Page:
    page = phone.new_page()
    page.goto(f"/r/{link_token(request.reference, request.link_generation)}/")
    return page


def shown(phone: BrowserContext, state: str) -> Page:
    """The page of a quote in one of its states."""
    if state == "progress":
        return opened(phone, request_in_pricing())
    quote = quoted("event_lighting")
    if state == "ordered":
        signature = Signature(name="Ada Story", purchase_order="PO 7")
        version = quote.terms_version
        quote_accept(quote_id=quote.pk, terms_version=version, signature=signature, now=NOW)
    if state == "expired":
        Quote.objects.filter(pk=quote.pk).update(valid_until=NOW)
        offers_expire(now=NOW + NOW.resolution)
    page = opened(phone, quote.request)
    if state in ("accept", "accept_error", "change", "decline"):
        page.goto(page.url + f"{state.partition('_')[0]}/")
    if state == "accept_error":
        page.get_by_role("button", name="Order for").click()
        page.wait_for_selector(".error-summary")
    return page


@pytest.mark.parametrize("state", PAGES)
def test_no_page_of_a_quote_breaks_a_rule_of_accessibility(
    phone: BrowserContext, state: str
) -> None:
    page = shown(phone, state)
    assert violations(page) == []
    page.set_viewport_size(NARROW)  # type: ignore[arg-type]
    assert not wider_than_screen(page)
    assert page.evaluate(SMALL_TARGETS) == []


def test_an_error_has_the_focus_and_leads_to_its_field(phone: BrowserContext) -> None:
    page = shown(phone, "accept_error")
    assert page.title().startswith("Error:")
    assert page.evaluate("document.activeElement.id") == "error-summary"
    page.get_by_role("link", name="Enter your name.").click()
    assert page.evaluate("document.activeElement.name") == "name"


def test_the_page_shows_the_quote_by_itself_when_it_is_there(phone: BrowserContext) -> None:
    request = request_in_pricing()
    page = opened(phone, request)
    assert page.locator("h1").inner_text() == "Your quote is being made"
    deliver(quote_asked(request))
    page.wait_for_selector("text=Accept this quote")


def test_without_javascript_the_quote_is_accepted(browser: Browser, live_server: Any) -> None:
    company_load(now=NOW)
    quote = quoted()
    for context in contexts(browser, live_server.url, java_script_enabled=False):
        page = opened(context, quote.request)
        page.get_by_role("link", name="Accept this quote").click()
        page.get_by_label("Your full name").fill("Ada Story")
        page.get_by_label("I agree to the terms").check()
        page.get_by_role("button", name="Order for").click()
        assert "Ordered:" in page.locator("h1").inner_text()


def test_on_paper_the_price_stays_and_the_buttons_go(phone: BrowserContext) -> None:
    page = shown(phone, "open")
    page.emulate_media(media="print")
    assert page.locator(".quote-plate .big-figure").is_visible()
    assert not page.get_by_role("link", name="Accept this quote").is_visible()
