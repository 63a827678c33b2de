"""The review desk in a browser: claim and release, ask by mail, override, two reps, a manager."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

from tests.live_stack import Stack

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

pytestmark = [pytest.mark.browser, pytest.mark.redis]
PASSPHRASE = "demo-only-passphrase"
SENT = """
from datetime import timedelta
from django.utils import timezone
from intake.requests.links import link_token
from tests.intake.desk import cast
now = timezone.now()
day = lambda n: (now + timedelta(days=n)).date().isoformat()
answers = {{**cast.DEWATERING, "company": {company!r}, "hire_start": day(30), "hire_end": day(40)}}
request = cast.sent(answers, cast.pump(nameplate={plate!r}), now=now)
print("REF", request.reference, link_token(request.reference, request.link_generation))
"""
TWO_WINDINGS = "10 hp 208-230/460 V 3 ph 60 Hz 28-26/13 A code H"
LARGE = "40 hp 230/460 V 3 ph 60 Hz 104/52 A code G"


def sent(stack: Stack, company: str, plate: str = TWO_WINDINGS) -> tuple[str, str]:
    """Reference and link of a request whose voltage is not known."""
    run = stack.run("shell", "--no-imports", "-c", SENT.format(company=company, plate=plate))
    found = re.search(r"REF (\S+) (\S+)", run.stdout)
    assert found, run.stdout + run.stderr
    return found[1], f"/r/{found[2]}/"


@pytest.fixture
def desk(browser: Browser, live_stack: Stack) -> Iterator[Desk]:
    counter = Desk(browser, live_stack)
    yield counter
    for context in counter.contexts:
        context.close()


class Desk:
    """People at the counter, each with a browser of their own."""

    def __init__(self, browser: Browser, stack: Stack) -> None:
        self.browser, self.stack = browser, stack
        self.contexts: list[BrowserContext] = []

    def visitor(self) -> Page:
        context = self.browser.new_context(base_url=self.stack.url, locale="en-US")
        context.set_default_timeout(20_000)
        self.contexts.append(context)
        return context.new_page()

    def signed_in(self, name: str) -> Page:
        page = self.visitor()
        page.goto("/accounts/sign-in/?next=/desk/")
        page.get_by_label("Username").fill(name)
        page.get_by_label("Password").fill(PASSPHRASE)
        page.get_by_role("button", name="Sign in").click()
        page.get_by_role("heading", name="Cases").wait_for()
        return page


def answer_voltage(page: Page, label: str, why: str) -> None:
    """Answer the open voltage finding in place."""
    page.get_by_role("link", name="Answer it").first.click()
    form = page.locator(".finding form.answer-edit")
    form.get_by_label(re.compile(label)).check()
    form.get_by_label(re.compile("Why the change")).fill(why)
    form.get_by_role("button", name="Save and size again").click()
    page.wait_for_url(re.compile("#sizing"))


def test_claim_override_with_resizing_and_release(desk: Desk) -> None:
    reference, _link = sent(desk.stack, "Claim and Release Co")
    page = desk.signed_in("rep")
    page.goto("/desk/?q=claim+and+release")
    page.get_by_role("link", name=re.compile("Claim and Release Co")).click()
    page.get_by_role("button", name=re.compile("^Claim")).click()
    page.get_by_text("with a rep").wait_for()
    answer_voltage(page, "480 volts", "Read from the panel on the phone.")
    assert "480Y/277" in page.locator(".figures").inner_text()
    assert "What the last change did" in page.locator("#sizing").inner_text()
    page.get_by_role("button", name=re.compile("Release to quote")).click()
    page.get_by_text("Released to quote on").wait_for()
    quoted = desk.visitor()
    quoted.goto(_link)
    quoted.wait_for_selector("text=Accept this quote", timeout=60_000)
    assert reference in page.content()


def test_ask_by_mail_and_answer(desk: Desk) -> None:
    reference, link = sent(desk.stack, "Ask By Mail Co")
    page = desk.signed_in("rep")
    page.goto(f"/desk/case/{reference}/")
    page.locator(".finding-needs_person summary", has_text="Ask the customer").first.click()
    page.get_by_role("button", name="Send the question").click()
    page.get_by_text("The customer was asked").wait_for()
    asked = desk.stack.rows("select max(id) from intake_casequestion")[0][0]
    customer = desk.visitor()
    customer.goto(f"{link}?asked={asked}")
    customer.get_by_role("heading", name="One question about your request").wait_for()
    customer.get_by_role("radio", name=re.compile("480 volts")).check()
    customer.get_by_role("button", name="Send the answer").click()
    customer.get_by_role("heading", name="Thank you for your answer").wait_for()
    page.goto("/desk/")
    row = page.locator("tr", has_text="Ask By Mail Co")
    assert "answered" in row.inner_text()
    page.goto(f"/desk/case/{reference}/")
    assert page.get_by_role("heading", name="Nothing left to decide").is_visible()


def test_of_two_reps_the_second_is_told_and_nothing_is_overwritten(desk: Desk) -> None:
    reference, _link = sent(desk.stack, "Two Reps Co")
    first, second = desk.signed_in("rep"), desk.signed_in("senior")
    for page in (first, second):
        page.goto(f"/desk/case/{reference}/")
    first.get_by_role("button", name=re.compile("^Claim")).click()
    first.get_by_text("with a rep").wait_for()
    second.locator("summary", has_text="Decline").click()
    second.get_by_label("What the customer will read").fill("We have no set for you, sorry.")
    second.get_by_role("button", name="Decline the request").click()
    told = second.locator("#refusal")
    told.wait_for()
    assert "took the case" in told.inner_text()
    assert "We have no set for you, sorry." in told.inner_text()
    first.reload()
    assert first.get_by_role("button", name=re.compile("Release to quote")).is_visible()


def test_a_failing_check_waits_for_the_manager(desk: Desk) -> None:
    reference, _link = sent(desk.stack, "Managers Approval Co", LARGE)
    page = desk.signed_in("rep")
    page.goto(f"/desk/case/{reference}/")
    answer_voltage(page, "480 volts", "Read from the panel on the phone.")
    page.locator("summary", has_text="Choose another set").click()
    page.get_by_label("Set", exact=True).fill("T20")
    page.locator("#choose-reason").fill("It is all that fits the alley.")
    page.get_by_role("button", name="Put it in place").click()
    page.get_by_text("Only a manager may release this").wait_for()
    page.get_by_role("button", name=re.compile("Release to quote")).click()
    assert "manager may release" in page.locator("#refusal").inner_text()
    manager = desk.signed_in("manager")
    manager.goto(f"/desk/case/{reference}/")
    manager.get_by_role("button", name=re.compile("Take over")).click()
    manager.get_by_role("button", name=re.compile("Release to quote")).click()
    manager.get_by_text("Released to quote on").wait_for()


def test_the_keyboard_alone_works_a_case(desk: Desk) -> None:
    reference, _link = sent(desk.stack, "Keyboard Only Co")
    page = desk.signed_in("rep")
    page.goto("/desk/?q=keyboard+only")
    page.locator(f"#case-{reference}").wait_for()
    page.keyboard.press("j")
    assert page.evaluate("document.activeElement.id") == f"case-{reference}"
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile("/desk/case/"))
    page.keyboard.press("c")
    page.get_by_text("with a rep").wait_for()
    page.keyboard.press("a")
    page.locator(".finding form.answer-edit").wait_for()
    assert page.evaluate("document.activeElement.tagName") in ("INPUT", "SELECT", "TEXTAREA")


def test_the_queue_refreshes_without_losing_the_place(desk: Desk) -> None:
    reference, _link = sent(desk.stack, "First There Co")
    page = desk.signed_in("rep")
    page.goto("/desk/?q=there+co")
    page.locator(f"#case-{reference}").focus()
    later, _link = sent(desk.stack, "Later There Co")
    page.locator(f"#case-{later}").wait_for(timeout=40_000)
    assert page.evaluate("document.activeElement.id") == f"case-{reference}"


@pytest.mark.parametrize("width", [390, 1440])
def test_the_desk_pages_have_no_known_barrier(desk: Desk, width: int) -> None:
    from axe_playwright_python.sync_playwright import Axe

    reference, _link = sent(desk.stack, f"Barrier Free {width} Co")
    page = desk.signed_in("manager")
    page.set_viewport_size({"width": width, "height": 900})
    tags = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
    for path in ("/desk/", f"/desk/case/{reference}/", "/desk/figures/", "/desk/people/"):
        page.goto(path)
        page.wait_for_load_state("networkidle")
        found = Axe().run(page, options=tags).response["violations"]
        assert [(v["id"], v["nodes"][0]["html"][:120]) for v in found] == [], path
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path
