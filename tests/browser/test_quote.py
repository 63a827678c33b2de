"""From the first page to an accepted quote, with a running worker."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.redis]

PLATE = "15 hp 460 V 3 ph 60 Hz 21 A code G"
CHOSEN = {
    "application": "dewatering",
    "float_starts_set": "set",
    "supply": "480Y/277",
    "delivery": "deliver",
    "crossing": "no",
    "public_nearby": "no",
    "float_switch": "yes",
    "starting": "across_the_line",
}
TYPED = {
    "nameplate": PLATE,
    "zip": "80424",
    "altitude": "9600",
    "ambient": "90",
    "hours_per_day": "24",
    "refuel_every": "24",
    "lead_length": "75",
    "contact_name": "Ada Story",
    "company": "Alder Works",
    "email": "ada@alder.example",
    "phone": "(303) 555-0100",
}
NOT_SURE_LABEL = re.compile("^Not sure")


def answers() -> dict[str, str]:
    first = datetime.now(UTC).date() + timedelta(days=30)
    days = {"hire_start": first, "hire_end": first + timedelta(days=8)}
    return TYPED | {key: day.isoformat() for key, day in days.items()}


def answer_page(page: Page) -> None:
    """Answer every question of a page: what the story says, else "not sure"."""
    said = answers()
    names = page.eval_on_selector_all(
        "main form.sheet [name], main form:not([action]) [name]",
        "fields => [...new Set(fields.map(f => f.name))]",
    )
    for name in names:
        if name in said:
            page.locator(f"[name={name}]").first.fill(said[name])
        elif name in CHOSEN:
            page.locator(f"[name={name}][value='{CHOSEN[name]}']").first.check()
        elif f"{name}__unsure" in names:
            page.locator(f"[name={name}__unsure]").check()
        elif page.locator(f"[name={name}][value=unsure]").count():
            page.locator(f"[name={name}][value=unsure]").check()


def walk_to_check(page: Page) -> None:
    """From the first page through every step to the check of the answers."""
    page.goto("/")
    answer_page(page)
    page.get_by_role("button", name="Start", exact=True).click()
    for _step in range(40):
        page.wait_for_load_state()
        if page.url.endswith("/check/"):
            return
        if page.get_by_role("button", name="Save this equipment").count():
            answer_page(page)
            page.get_by_role("button", name="Save this equipment").click()
        elif page.get_by_role("link", name=re.compile("^Fill in")).count():
            page.get_by_role("link", name=re.compile("^Fill in")).first.click()
        elif page.get_by_role("button", name="That is all, continue").count():
            page.get_by_role("button", name="That is all, continue").click()
        else:
            answer_page(page)
            page.get_by_role("button", name="Continue", exact=True).click()
    pytest.fail(f"the intake does not end: {page.url}")


def test_from_the_first_page_to_an_order(page: Page) -> None:
    walk_to_check(page)
    page.get_by_role("button", name="Send my request").click()
    page.wait_for_selector("text=Accept this quote", timeout=60_000)
    total = page.locator(".quote-plate .big-figure").inner_text()
    page.get_by_role("link", name="Accept this quote").click()
    page.get_by_label("Your full name").fill("Ada Story")
    page.get_by_label("Purchase order number").fill("PO 4711")
    page.get_by_label("I agree to the terms").check()
    page.get_by_role("button", name=f"Order for {total}").click()
    page.wait_for_selector("text=What happens next")
    assert "PO 4711" in page.content()
    assert page.locator(".quote-plate .big-figure").inner_text() == total
