"""The promises of the customer's pages, each held by a real browser.

Held elsewhere: nothing typed is lost, not sure everywhere, no question twice, changes and what they
open, what no longer applies, the check page, other devices (tests/intake); the quote's own pages,
its print and its PDF (tests/quotes).
"""

from __future__ import annotations

import gzip
import re
from collections.abc import Iterator
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Locator, Page

from intake.models import Case, HireRequest, OutboxMessage, SizingRun
from intake.photos.services import LARGEST_BYTES
from quotes.demo.company import company_load
from tests.browser.intake_pages import (
    DESKTOP,
    FOCUS_IS_SEEN,
    NARROW,
    SMALL_TARGETS,
    contexts,
    violations,
    wider_than_screen,
)
from tests.browser.intake_walk import (
    DEWATERING,
    EMERGENCY,
    STORIES,
    TRAILER,
    Answers,
    Story,
    Walk,
)
from tests.quotes.cast import deliver_all

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def _demo(settings: Any) -> None:
    settings.SETWRIGHT_FLEET_SOURCE = "tests.intake.visitor.demo_fleet"
    settings.SETWRIGHT_BRANCH_SOURCE = "tests.intake.visitor.demo_branches"


@pytest.fixture
def phone(browser: Browser, live_server: Any) -> Iterator[BrowserContext]:
    yield from contexts(browser, live_server.url)


@pytest.fixture
def page(phone: BrowserContext) -> Page:
    return phone.new_page()


def hire_company(settings: Any) -> None:
    """The demo's yards, fleet and prices, so that a request becomes a quote."""
    company_load(now=timezone.now())
    settings.SETWRIGHT_FLEET_SOURCE = "quotes.fleet.selectors.fleet_for_sizing"
    settings.SETWRIGHT_BRANCH_SOURCE = "quotes.fleet.selectors.branches_by_distance"


def sent(page: Page) -> HireRequest:
    return HireRequest.objects.get(reference=page.url.split("/")[4])


def by_application(story: Story) -> str:
    return story.application


@pytest.mark.parametrize("story", STORIES, ids=by_application)
def test_without_javascript_on_a_desk_every_story_is_sent(
    browser: Browser, live_server: Any, story: Story
) -> None:
    """U1."""
    for context in contexts(browser, live_server.url, viewport=DESKTOP, java_script_enabled=False):
        page = context.new_page()
        walk = Walk(page)
        walk.whole(story)
        request = sent(page)
        assert request.submitted_at is not None
        assert (request.runs.get().outcome == "recommended") == story.priced


@pytest.mark.parametrize("story", STORIES, ids=by_application)
def test_on_a_phone_every_story_leads_to_its_quote_or_the_desk(
    page: Page, settings: Any, story: Story
) -> None:
    """Few pages and taps, plain words (U25), and nothing against the pages' own policy."""
    hire_company(settings)
    complaints: list[str] = []
    page.on("console", lambda m: complaints.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda e: complaints.append(str(e)))
    texts: list[str] = []
    walk = Walk(page, lambda _name: texts.append(page.inner_text("main")))
    walk.whole(story)
    assert (len(walk.pages), walk.taps) == (story.pages, story.taps)
    if story.priced:
        deliver_all(now=timezone.now())
        page.wait_for_selector("text=Accept this quote")
    else:
        assert sent(page).reference in page.inner_text(".big-figure")
        assert Case.objects.get().request == sent(page)
    # htmx says so too when a page is left while something of it is still being kept
    assert [c for c in complaints if "404" not in c and not c.startswith("htmx:")] == []
    sentences = " ".join(s for t in texts for s in re.findall(r"[A-Z][^.?!\n]{15,}[.?!]", t))
    assert reading_grade(sentences) <= 8


OTHER_STEPS = {"dewatering": "water", "jobsite_trailer": "day", "event_lighting": "show"}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_breaks_a_rule_of_accessibility(
    browser: Browser, live_server: Any, scheme: str
) -> None:
    """U2 to U6: narrow screens, targets, contrast of 7:1, axe, headings."""
    found: dict[str, Any] = {}
    headings: dict[str, str] = {}

    def look(name: str) -> None:
        if problems := violations(page, "color-contrast-enhanced"):
            found[name] = problems
        if wider_than_screen(page):
            found[f"{name} is wider than the screen"] = page.url
        if small := page.evaluate(SMALL_TARGETS):
            found[f"{name} has small targets"] = small
        (heading,) = page.locator("h1").all_inner_texts()
        assert page.title() == heading
        headings[name] = heading

    for context in contexts(browser, live_server.url, viewport=NARROW, color_scheme=scheme):
        page = context.new_page()
        walk = Walk(page, look)
        walk.whole(EMERGENCY)
        look("sent")
        page.goto(f"{walk.request_address}link/")
        look("link")
        page.goto("/r/not-a-link/")
        look("refused link")
        for application, step in OTHER_STEPS.items():
            walk.start(application)
            page.goto(f"{walk.request_address}{step}/")
            page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
            look(step)
    assert found == {}
    titles = {name: h for name, h in headings.items() if not name.startswith(("list", "equip"))}
    assert len(set(titles.values())) == len(titles)


ERROR_PAGES = ["job", "water", "voltage", "site", "dates", "around", "contact"]


@pytest.mark.parametrize("story", [DEWATERING], ids=by_application)
def test_an_error_page_leads_to_its_fields(page: Page, story: Story) -> None:
    """U5 and U7 on every error state."""
    Walk(page).start(story.application)
    address = page.url.split("equipment/")[0]
    for path in (page.url, *(f"{address}{key}/" for key in ERROR_PAGES)):
        page.goto(path)
        page.evaluate("document.querySelectorAll('input:checked').forEach(i => i.checked = false)")
        page.click(".sheet .actions button")
        page.wait_for_selector("#error-summary")
        assert page.title().startswith("Error: ")
        assert page.evaluate("document.activeElement.id") == "error-summary"
        assert violations(page, "color-contrast-enhanced") == [], path
        for link in page.locator(".error-summary a").all():
            words, target = link.inner_text(), link.get_attribute("href")
            link.click()
            assert f"#{page.evaluate('document.activeElement.id')}" == target
            field = page.locator(".field-wrong", has=page.locator(target or ""))
            assert words in field.inner_text()


def test_going_back_shows_what_was_answered(page: Page) -> None:
    """U12."""
    walk = Walk(page)
    walk.start("dewatering")
    address = page.url.split("equipment/")[0]
    page.goto(f"{address}voltage/")
    page.check("#q-supply-3")
    page.click(".sheet .actions button")
    page.wait_for_url("**/site/")
    page.go_back()
    assert page.is_checked("#q-supply-3")
    page.goto(f"{address}site/")
    page.click(".link-back")
    page.wait_for_url("**/voltage/")
    assert page.is_checked("#q-supply-3")


def test_pressing_send_twice_and_going_back_sends_once(page: Page) -> None:
    """U18."""
    walk = Walk(page)
    walk.start("dewatering")
    walk.equipment(DEWATERING)
    walk.steps(DEWATERING)
    check = page.url
    page.dblclick("main form .actions button")
    page.wait_for_url(lambda url: "/check/" not in url)
    page.go_back()
    page.wait_for_load_state()
    page.goto(check)
    assert SizingRun.objects.count() == 1
    assert OutboxMessage.objects.filter(topic="quotes.build_quote").count() == 1
    assert "/check/" not in page.url


def test_offline_nothing_is_lost_and_it_is_sent_once_when_back(
    page: Page, phone: BrowserContext
) -> None:
    """U19."""
    Walk(page).start("dewatering")
    page.goto(f"{page.url.split('equipment/')[0]}voltage/")
    phone.set_offline(True)
    page.check("#q-supply-3")
    page.click(".sheet .actions button")
    page.wait_for_selector("#lost:not([hidden])")
    assert "not sent yet" in page.inner_text("#lost")
    assert page.is_checked("#q-supply-3")
    phone.set_offline(False)
    page.wait_for_url("**/site/")
    answer = sent(page).answers.get(key="supply")
    assert answer.value == "480Y/277"


def test_what_was_typed_offline_survives_a_reload(page: Page, phone: BrowserContext) -> None:
    Walk(page).start("dewatering")
    phone.set_offline(True)
    page.fill("#q-nameplate", "15 hp 460 V")
    page.wait_for_selector("#lost:not([hidden])")
    phone.set_offline(False)
    page.reload()
    assert page.input_value("#q-nameplate") == "15 hp 460 V"


def test_typing_is_saved_and_said_without_leaving_the_field(page: Page) -> None:
    """Autosave and the live reading of a plate; the focus stays where it was (U29)."""
    Walk(page).start("dewatering")
    page.click("#q-nameplate")
    page.keyboard.type("15 hp 460 V 3 ph", delay=5)
    page.wait_for_selector(".understood .facts")
    page.wait_for_selector("#kept:has-text('Saved')")
    assert page.evaluate("document.activeElement.id") == "q-nameplate"
    assert "three phase" in page.inner_text(".understood")
    page.reload()
    assert page.input_value("#q-nameplate") == "15 hp 460 V 3 ph"


def test_a_voltage_that_does_not_fit_the_plates_is_said_at_once(page: Page) -> None:
    walk = Walk(page)
    walk.start("dewatering")
    walk.equipment(DEWATERING)
    page.goto(f"{walk.request_address}voltage/")
    assert "Your nameplates point at 480 volts" in page.inner_text("#voltage-hint")
    page.check("#q-supply-1")
    page.wait_for_selector("#voltage-hint .notice-warn")
    assert "Sump pump does not fit 120/240 V" in page.inner_text("#voltage-hint")
    page.check("#q-supply-3")
    page.wait_for_selector("#voltage-hint .notice-warn", state="detached")


def test_the_picture_follows_the_voltage_that_is_chosen(page: Page) -> None:
    walk = Walk(page)
    walk.start("dewatering")
    walk.equipment(DEWATERING)
    page.goto(f"{walk.request_address}voltage/")
    page.wait_for_selector("#picture-words >> text=Still open: the voltage")
    page.check("#q-supply-3")
    page.wait_for_selector("#picture-words >> text=Still open: the voltage", state="detached")
    assert "Running:" in page.inner_text("#picture-words")


def test_choosing_the_voltage_of_the_plates_moves_no_button(page: Page) -> None:
    """A button that moves between finger down and finger up is not pressed."""
    walk = Walk(page)
    walk.start("dewatering")
    walk.equipment(DEWATERING)
    page.goto(f"{walk.request_address}voltage/")
    press = page.locator(".sheet .actions button")
    press.scroll_into_view_if_needed()
    before = press.bounding_box()
    with page.expect_response(lambda answer: answer.url.endswith("/voltage/hint/")) as hinted:
        page.locator("#q-supply-3").evaluate("choice => choice.click()")
    hinted.value.finished()
    page.wait_for_selector("#kept:has-text('Saved')")
    assert press.bounding_box() == before


def test_fast_typing_and_errors_raise_no_false_conflict(page: Page) -> None:
    """Keeping what is typed and sending it do not fight each other."""
    Walk(page).start("dewatering")
    for plate in ("460", "15", "15 hp 460 V 3 ph"):
        page.fill("#q-nameplate", plate)
        page.check("#q-float_switch-1")
        with page.expect_navigation():
            page.click(".sheet .actions button")
        assert page.locator("#clash").count() == 0


def test_the_first_page_is_light(page: Page) -> None:
    """U20: what comes over the wire, compressed as a web server sends it."""
    sizes: dict[str, int] = {}
    page.on("response", lambda r: sizes.update({r.url: len(gzip.compress(r.body(), 6))}))
    page.goto("/")
    page.wait_for_load_state("networkidle")
    assert sum(sizes.values()) <= 60_000, sizes


def test_the_first_page_is_there_on_a_slow_line(page: Page, phone: BrowserContext) -> None:
    """U20: 400 kbit/s and 400 ms; the page is usable before its scripts have come."""
    page.goto("/")
    line = phone.new_cdp_session(page)
    slow = {"offline": False, "latency": 400}
    slow |= {"downloadThroughput": 50_000, "uploadThroughput": 50_000}
    line.send("Network.enable")
    line.send("Network.emulateNetworkConditions", slow)
    page.goto("/", wait_until="commit")
    page.wait_for_selector("main form .actions button", timeout=15_000)
    page.check("#q-application-1")
    page.click("main form .actions button")
    page.wait_for_url("**/equipment/**")


def test_a_photo_too_large_is_refused_before_it_is_sent(page: Page, tmp_path: Any) -> None:
    """U21: at once and without a request; what was typed stays."""
    Walk(page).start("dewatering")
    page.fill("#q-nameplate", "15 hp 460 V")
    huge = tmp_path / "plate.jpg"
    with huge.open("wb") as file:
        file.truncate(LARGEST_BYTES + 1)
    page.click("summary:has-text('Add a photo')")
    page.set_input_files("#q-photo", huge)
    page.wait_for_selector("#q-photo-error:has-text('over 15 MB')")
    assert page.input_value("#q-photo") == ""
    assert page.input_value("#q-nameplate") == "15 hp 460 V"


def test_fields_ask_the_phone_for_the_right_keyboard(page: Page) -> None:
    """U23."""
    Walk(page).start("dewatering")
    address = page.url.split("equipment/")[0]
    wanted = {
        "site": {"zip": ("numeric", "shipping postal-code")},
        "contact": {"email": ("email", "email"), "phone": ("tel", "tel"),
                    "contact_name": (None, "name")},
    }  # fmt: skip
    for step, fields in wanted.items():
        page.goto(f"{address}{step}/")
        for key, (mode, token) in fields.items():
            field = page.locator(f"#q-{key}")
            assert field.get_attribute("inputmode") == mode
            assert field.get_attribute("autocomplete") == token


def reading_grade(text: str) -> float:
    """Grade = 0.39 words a sentence + 11.8 syllables a word - 15.59; syllables as vowel groups.

    Source: Kincaid and others, 1975, the United States Navy's formula (from memory).
    """
    words = re.findall(r"[A-Za-z']+", text)
    sentences = len(re.findall(r"[.?!]", text))
    syllables = sum(
        max(1, len(re.findall(r"[aeiouy]+", w.lower().removesuffix("e")))) for w in words
    )
    return 0.39 * len(words) / sentences + 11.8 * syllables / len(words) - 15.59


def test_keyboard_alone_goes_from_the_first_page_to_sent(page: Page) -> None:
    """U29: Tab, arrows, Space, Enter; the focus is always in sight."""
    page.goto("/")
    by_keys(page, {"application": "dewatering"})
    enter(page)
    (_, pump), _ = DEWATERING.equipment
    by_keys(page, pump)
    enter(page)
    assert "15 hp 460 V 3 ph" in page.inner_text(".equipment")
    tab_to(page, "document.activeElement.closest('.all-equipment')", "the button to go on")
    enter(page)
    for answers in DEWATERING.steps.values():
        by_keys(page, answers)
        enter(page)
    tab_to(page, "document.activeElement.matches('main .actions .button')", "the last button")
    enter(page)
    assert sent(page).submitted_at is not None


def by_keys(page: Page, answers: Answers) -> None:
    """Answer a page as somebody does who has no mouse."""
    for key, value in answers.items():
        field = page.locator(f'[name="{key}"]').first
        if field.get_attribute("type") != "radio":
            press_until(page, f"q-{key}")
            page.keyboard.type(str(typed_date(field, str(value))))
            continue
        press_until(page, f"q-{key}-1")
        page.keyboard.press("Space")
        for _ in range(12):
            if page.is_checked(f'[name="{key}"][value="{value}"]'):
                break
            page.keyboard.press("ArrowDown")
        assert page.is_checked(f'[name="{key}"][value="{value}"]')


def typed_date(field: Locator, value: str) -> str:
    """A day in the order in which an American browser takes its digits."""
    if field.get_attribute("type") != "date":
        return value
    year, month, day = value.split("-")
    return f"{month}{day}{year}"


def enter(page: Page) -> None:
    multiline = page.evaluate("document.activeElement.tagName === 'TEXTAREA'")
    if multiline:
        page.keyboard.press("Tab")
    with page.expect_navigation():
        page.keyboard.press("Enter")


def focus_is_seen(page: Page) -> None:
    """A busy machine may draw the focus a moment after the key."""
    for _ in range(20):
        if page.evaluate(FOCUS_IS_SEEN):
            return
        page.wait_for_timeout(50)
    raise AssertionError(page.evaluate("document.activeElement.outerHTML.slice(0, 200)"))


def tab_to(page: Page, condition: str, words: str) -> None:
    for _ in range(60):
        page.keyboard.press("Tab")
        focus_is_seen(page)
        if page.evaluate(f"Boolean({condition})"):
            return
    raise AssertionError(f"{words} is not reached with Tab")


def press_until(page: Page, element_id: str) -> None:
    for _ in range(60):
        if page.evaluate("document.activeElement.id") == element_id:
            return
        page.keyboard.press("Tab")
        focus_is_seen(page)
    raise AssertionError(f"{element_id} is not reached with Tab")


@pytest.mark.parametrize("viewport", [{"width": 844, "height": 390}, DESKTOP], ids=["wide", "desk"])
def test_large_text_and_a_phone_on_its_side_hide_nothing(
    browser: Browser, live_server: Any, viewport: dict[str, int]
) -> None:
    """U30: text at 200 %."""
    wide: list[str] = []

    def look(name: str) -> None:
        page.add_style_tag(content="html { font-size: 225% !important; }")
        if wider_than_screen(page):
            wide.append(name)

    for context in contexts(browser, live_server.url, viewport=viewport, bypass_csp=True):
        page = context.new_page()
        Walk(page, look).whole(TRAILER)
    assert wide == []


def test_the_answers_print_on_letter_paper(page: Page, tmp_path: Any) -> None:
    """U27: the check page on paper, with every answer and nothing cut."""
    import pypdf

    walk = Walk(page)
    walk.start("dewatering")
    walk.equipment(DEWATERING)
    walk.steps(DEWATERING)
    page.pdf(path=str(tmp_path / "check.pdf"), format="Letter")
    sheets = pypdf.PdfReader(tmp_path / "check.pdf").pages
    text = " ".join(sheet.extract_text() for sheet in sheets)
    for words in ("15 hp 460 V 3 ph", "480 volts", "80424", "970 555 0142"):
        assert words in text


def test_a_whole_story_in_spanish_shows_no_english(browser: Browser, live_server: Any) -> None:
    english = ("Continue", "Not sure", "Why we ask", "Step ", "Enter ", "Choose ", "optional")
    found: list[str] = []

    def look(name: str) -> None:
        text = page.inner_text("body")
        found.extend(f"{name}: {words}" for words in english if words in text)
        assert page.get_attribute("html", "lang") == "es"

    for context in contexts(browser, live_server.url, locale="es-US"):
        page = context.new_page()
        Walk(page, look).whole(EMERGENCY)
        look("sent")
    assert found == []
