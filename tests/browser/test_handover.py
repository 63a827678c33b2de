"""A driver signs for a set on a phone, the connection lost in the middle; then somebody asks."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import pytest
from playwright.sync_api import expect

from quotes.demo.people import PASSPHRASE
from tests.browser.intake_pages import violations
from tests.conftest import running
from tests.live_stack import Stack

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

pytestmark = [pytest.mark.browser, pytest.mark.redis]

PHONE = {"width": 390, "height": 844}
ACCEPT = """
from django.utils import timezone
from quotes.demo.handover import Walked, _accepted
from quotes.handover.units import unit_link
order = _accepted(timezone.now(), Walked())
out = order.out_units.get()
print("ORDER", order.number, out.unit.number, unit_link(out).split("/s/")[1].strip("/"))
"""
OFFERED = """
select count(*) from quotes_quote join intake_sizingrun on intake_sizingrun.id = run_id
where state = 'offered' and requirement like '%dewatering%'
"""
SIGNED = "select name, fuel_percent from quotes_signoff"


@pytest.fixture(scope="module")
def stack(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stack]:
    """A demo of this module's own: its order is signed for."""
    made = Stack(home=tmp_path_factory.mktemp("handover") / "home")
    for _running in running(made):
        made.wait_for(lambda: made.rows(OFFERED)[0][0] >= 1, 120)
        yield made


@pytest.fixture(scope="module")
def order(stack: Stack) -> dict[str, str]:
    told = stack.run("shell", "-c", ACCEPT)
    found = re.search(r"ORDER (\S+) (\S+) (\S+)", told.stdout)
    assert found, told.stdout + told.stderr
    return dict(zip(("number", "unit", "token"), found.groups(), strict=True))


@pytest.fixture
def phone(browser: Browser, stack: Stack) -> Iterator[BrowserContext]:
    context = browser.new_context(base_url=stack.url, viewport=PHONE, locale="en-US")  # type: ignore[arg-type]
    context.set_default_timeout(20_000)
    yield context
    context.close()


def sign_in(page: Page) -> None:
    page.goto("/accounts/sign-in/")
    page.locator("[name=username]").fill("rep")
    page.locator("[name=password]").fill(PASSPHRASE)
    page.locator("main form button").first.click()
    page.wait_for_url("**/desk/**")


def fill_sign_off(page: Page) -> None:
    for tick in page.locator("form[data-signs] input[type=checkbox]").all():
        tick.check()
    page.get_by_label("Hour meter, h").fill("2140.0")
    page.get_by_label("Fuel gauge, percent").fill("100")
    page.get_by_label("Connected by").fill("Ira Volt-Demo")
    page.get_by_label("Full name of who signs").fill("Alma Reyes-Demo")


def fits(page: Page) -> bool:
    """Whether nothing is wider than the phone; a page under way after a click is waited for."""
    page.wait_for_load_state()
    width: Any = page.locator("html").evaluate("page => page.scrollWidth")
    return bool(width <= PHONE["width"])


def test_whoever_stands_at_the_set_is_led_to_a_call(
    stack: Stack, order: dict[str, str], phone: BrowserContext
) -> None:
    page = phone.new_page()
    page.goto(f"/s/{order['token']}/")
    assert fits(page)
    assert order["number"] not in page.content()
    page.get_by_role("link", name="It does not run as it should").click()
    for answer in ("No", "Nothing happens when", "No, it is out", "It was on", "No, it stays dark"):
        page.locator(".answer-list a", has_text=re.compile(f"^{answer}")).first.click()
    assert fits(page)
    page.get_by_label("Your name").fill("Bo")
    page.get_by_role("button", name="Open a service case").click()
    page.wait_for_selector("text=a service case is open")
    assert stack.rows("select end, name from quotes_servicecase") == [("call_dark", "Bo")]


def test_axe_finds_nothing_on_the_pages_of_a_hire(
    order: dict[str, str], phone: BrowserContext
) -> None:
    page, desk = phone.new_page(), f"/desk/out/{order['number']}"
    sign_in(page)
    for path in (f"/s/{order['token']}/", f"/s/{order['token']}/help/", "/desk/out/"):
        page.goto(path)
        assert violations(page) == []
    for path in ("/", *(f"/{order['unit']}/{end}/" for end in ("help", "sign/delivery"))):
        page.goto(desk + path)
        assert violations(page) == []


def test_a_sign_off_outlives_the_connection_and_comes_once(
    stack: Stack, order: dict[str, str], phone: BrowserContext
) -> None:
    page = phone.new_page()
    sign_in(page)
    page.goto(f"/desk/out/{order['number']}/{order['unit']}/sign/delivery/")
    assert fits(page)
    fill_sign_off(page)
    page.get_by_label("Fuel gauge, percent").fill("130")
    page.get_by_role("button", name="Sign for it").click()
    page.wait_for_selector("#sign-problems:visible")
    assert "0 to 100" in page.locator("#sign-problems").inner_text()
    page.reload()  # what was ticked is there again
    expect(page.locator("#id_name")).to_have_value("Alma Reyes-Demo")
    assert page.locator("#tick-selector").is_checked()
    page.get_by_label("Fuel gauge, percent").fill("100")
    page.locator("#photo_fuel").set_input_files(
        {"name": "gauge.png", "mimeType": "image/png", "buffer": page.screenshot()}
    )
    page.wait_for_selector("html[data-kept]")
    phone.set_offline(True)
    page.get_by_role("button", name="Sign for it").click()
    page.wait_for_selector("#sign-kept:visible")
    page.get_by_role("button", name="Sign for it").click()  # impatient
    page.reload()  # the phone dropped the page: it comes from the phone, what was signed with it
    page.wait_for_selector("#sign-kept:visible")
    assert page.locator("#id_name").input_value() == "Alma Reyes-Demo"
    assert not stack.rows(SIGNED)
    no_folder = stack.home / "media" / "handover"
    no_folder.parent.mkdir(exist_ok=True)
    no_folder.touch()  # where the photos belong is no folder: they cannot be kept
    phone.set_offline(False)
    page.wait_for_selector("#sign-photos:visible")
    assert "fuel gauge" in page.locator("#sign-photos").inner_text()
    assert stack.rows(SIGNED) == [("Alma Reyes-Demo", 100)]
    no_folder.unlink()
    page.reload()  # it is signed; the photo is still on the phone, and comes by itself
    page.wait_for_selector("#sign-sent:visible")
    page.reload()
    assert "Signed by Alma Reyes-Demo" in page.content()
    assert stack.rows(SIGNED) == [("Alma Reyes-Demo", 100)]
    assert stack.rows("select subject from quotes_signoffphoto") == [("fuel",)]
