"""The ice storm in a browser: read, pin, plan again, put in force, move along on the board."""

from __future__ import annotations

import re
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.browser.intake_pages import (
    DESKTOP,
    PHONE,
    SMALL_TARGETS,
    violations,
    wider_than_screen,
)
from tests.browser.test_desk import PASSPHRASE, Desk, desk
from tests.live_stack import ROOT, Stack, clean_environment

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.redis]
__all__ = ["desk"]
EVENT = "/desk/emergency/ICE-STORM/"
BOARD = f"{EVENT}board/"
SITE_ADD = "/emergency/sites/add/"
BODYS_LINK = """
from quotes.emergency.organisations.services import body_link
from quotes.models import PublicBody
print("LINK", body_link(PublicBody.objects.get(contact_name="Uma Ferris-Demo")))
"""
STORY_S = 400  # on a machine that is busy with other tests


@pytest.fixture(scope="module")
def told(live_stack: Stack) -> str:
    """The story in the running demo, in a county of its own, told once."""
    run = subprocess.run(
        [sys.executable, "-m", "config", "ice_storm"],
        cwd=ROOT,
        env=clean_environment(live_stack.home, **live_stack.environment),
        capture_output=True,
        text=True,
        timeout=STORY_S,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr
    return run.stdout


def test_the_command_tells_plan_changes_and_reasons(told: str) -> None:
    assert told.count("\nPlan ") == 4
    assert told.count("Against the plan before") == 3
    assert "Nearest alternative:" in told


@pytest.mark.parametrize("size", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_the_pages_have_no_known_barrier_and_fit(
    desk: Desk, told: str, size: dict[str, int]
) -> None:
    page = desk.signed_in("senior")
    page.set_viewport_size(size)  # type: ignore[arg-type]
    page.goto(BOARD)
    need = page.locator(".board-what a").first.get_attribute("href") or ""
    for path in ("/desk/emergency/", EVENT, BOARD, need, f"{EVENT}fuel/", f"{EVENT}papers/"):
        page.goto(path)
        assert violations(page) == [], path
        assert not wider_than_screen(page), path


def test_from_a_pin_to_a_plan_in_force_and_on_the_board(desk: Desk, told: str) -> None:
    page = desk.signed_in("senior")
    page.get_by_role("link", name="Emergency", exact=True).click()
    page.get_by_role("link", name="Ice storm, Tamarack County").first.click()
    expect(page.get_by_text("Plan 4 is in force since")).to_be_visible()
    page.locator(".unmet li").first.get_by_text("Nearest alternative:").wait_for()
    pinned(page)
    page.get_by_label("Why plan now").fill("Pinned a set")
    page.get_by_role("button", name="Plan again").click()
    page.get_by_text("Plan 5 waits to be put in force.").wait_for(timeout=60_000)
    page.get_by_role("link", name="See what it changes").click()
    page.get_by_role("button", name="Put plan 5 in force").click()
    expect(page.get_by_text("Plan 5 is in force since")).to_be_visible(timeout=60_000)
    moved(page)


def pinned(page: Page) -> None:
    """Keep a set from the first need that waits, with a reason."""
    row = page.locator("table.needs tbody tr", has=page.locator("summary", has_text="Pin")).first
    row.locator("summary", has_text="Pin").click()
    row.get_by_label("Set number").fill("TC-301")
    row.get_by_label("What").select_option("forbid")
    row.get_by_label("Reason").fill("The bridge is weak.")
    row.get_by_role("button", name="Keep it for the next plan").click()
    expect(page.locator("#choices-head + ul")).to_contain_text("The bridge is weak.")


def moved(page: Page) -> None:
    """On the board a promised set leaves, without the page being loaded anew."""
    page.get_by_role("link", name="Live board").click()
    page.evaluate("window.loadedOnce = true")
    line = page.locator(".board-line", has=page.get_by_role("button", name="It has left")).first
    place = line.get_attribute("id")
    line.get_by_role("button", name="It has left").click()
    expect(page.locator(f"#{place}")).to_contain_text("on the way")
    assert page.evaluate("window.loadedOnce === true")
    mark = page.locator(f".map-mark[href='#{place}']")
    expect(mark.locator("polygon")).to_have_count(1)
    assert re.search(r"on the way", mark.locator("title").text_content() or "")


def test_the_board_works_without_javascript(desk: Desk, told: str) -> None:
    context = desk.browser.new_context(base_url=desk.stack.url, java_script_enabled=False)
    desk.contexts.append(context)
    page = context.new_page()
    page.goto(f"/accounts/sign-in/?next={BOARD}")
    page.get_by_label("Username").fill("rep")
    page.get_by_label("Password").fill(PASSPHRASE)
    page.get_by_role("button", name="Sign in").click()
    line = page.locator(".board-line", has_text="runs since").first
    place = line.get_attribute("id")
    line.get_by_role("link").first.click()  # what ends a need stands on its own page
    expect(page.get_by_role("heading", name="Hook-up")).to_be_visible()
    page.get_by_role("button", name="Needed no more").click()
    expect(page.locator(f"#{place}")).to_contain_text("done")
    expect(page.get_by_text("Exhaust gas and backfeed kill")).to_be_visible()


@pytest.fixture
def entered(desk: Desk) -> str:
    """Where the demo's public body comes in by its link."""
    run = desk.stack.run("shell", "--no-imports", "-c", BODYS_LINK)
    found = re.search(r"LINK https?://[^/]+(\S+)", run.stdout)
    assert found, run.stdout + run.stderr
    return found[1]


@pytest.mark.parametrize("size", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_the_form_of_a_site_has_no_known_barrier_folded_or_open(
    desk: Desk, entered: str, size: dict[str, int]
) -> None:
    page = desk.visitor()
    page.set_viewport_size(size)  # type: ignore[arg-type]
    page.goto(entered)
    page.goto(SITE_ADD)
    for _state in ("as it comes", "all open"):
        assert violations(page) == []
        assert page.evaluate(SMALL_TARGETS) == []
        assert not wider_than_screen(page)
        page.evaluate("document.querySelectorAll('.form-part').forEach(one => one.open = true)")


def test_the_keyboard_walks_the_form_of_a_site_in_the_order_it_is_read(
    desk: Desk, entered: str
) -> None:
    page = desk.visitor()
    page.goto(entered)
    page.goto(SITE_ADD)
    page.locator("#id_zip").focus()
    page.keyboard.press("Tab")
    expect(page.locator("summary", has_text="Exactly where")).to_be_focused()
    page.keyboard.press("Tab")  # folded: past its fields
    expect(page.locator("summary", has_text="Why it matters")).to_be_focused()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    expect(page.locator("#id_critical")).to_be_focused()


def test_without_javascript_what_is_wrong_in_a_folded_part_is_seen(
    desk: Desk, entered: str
) -> None:
    context = desk.browser.new_context(
        base_url=desk.stack.url, java_script_enabled=False, viewport=PHONE, locale="en-US"
    )
    desk.contexts.append(context)
    page = context.new_page()
    page.goto(entered)
    page.goto(SITE_ADD)
    expect(page.locator("#id_latitude")).to_be_hidden()
    page.locator("summary", has_text="Exactly where").click()
    page.locator("#id_latitude").fill("91")
    page.get_by_role("button", name="Save the site").click()
    expect(page.locator("#id_latitude")).to_be_visible()
    expect(page.locator("#id_latitude")).to_have_value("91")
    page.locator(".error-summary a[href='#id_latitude']").click()
    expect(page.locator("#id_latitude")).to_be_in_viewport()
