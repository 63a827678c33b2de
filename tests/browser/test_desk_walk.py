"""Ten mixed cases worked by one rep, counted in clicks and keystrokes.

The time is that of the keystroke-level model (Card, Moran, Newell, 1980: K 0.2 s for a key, P 1.1 s
to point, B 0.1 s to press, M 1.35 s to make up one's mind before each step; from memory), without
the rep's reading and thinking about the case itself. It is printed, not asserted.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pytest

from tests.browser.test_desk import Desk, desk
from tests.live_stack import Stack

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

pytestmark = [pytest.mark.browser, pytest.mark.redis]
__all__ = ["desk"]
KEY_S, POINT_S, PRESS_S, MIND_S = 0.2, 1.1, 0.1, 1.35
SEND_TEN = """
from datetime import timedelta
from django.utils import timezone
from tests.intake.desk import cast
now = timezone.now()
day = lambda n: (now + timedelta(days=n)).date().isoformat()
days = {"hire_start": day(30), "hire_end": day(40)}
wells = {**cast.DEWATERING, **days}
known = {**wells, "supply": "480Y/277"}
wrong = cast.pump(nameplate="15 hp 460 V 3 ph 60 Hz 40 A code G")
large = cast.pump(nameplate="400 hp 460 V 3 ph 60 Hz 477 A code G")
high = cast.pump(nameplate="40 hp 460 V 3 ph 60 Hz 52 A code G")
unsure_height = {**known, "altitude": "unsure", "zip": "80424"}
shelter = {**cast.SHELTER, **days}
ten = [
    ("voltage", wells, cast.pump()), ("voltage", wells, cast.pump(name="Well pump")),
    ("voltage", wells, cast.pump(quantity=2)), ("plate", known, wrong), ("plate", known, wrong),
    ("height", unsure_height, high), ("height", unsure_height, high),
    ("mail", wells, cast.pump()), ("decline", known, large), ("life", shelter, cast.panel()),
]
for n, (kind, answers, load) in enumerate(ten, 1):
    answers = {**answers, "company": f"Walk {n:02} {kind}"}
    print("REF", kind, cast.sent(answers, load, now=now).reference)
"""


@dataclass
class Hand:
    """A rep's hand: it counts what it does to the page."""

    page: Page
    clicks: int = 0
    keys: int = 0
    steps: int = 0

    def press(self, key: str) -> None:
        self.page.keyboard.press(key)
        self.keys, self.steps = self.keys + 1, self.steps + 1

    def click(self, what: Locator) -> None:
        what.first.click()
        self.clicks, self.steps = self.clicks + 1, self.steps + 1

    def type(self, what: Locator, text: str) -> None:
        what.first.fill(text)
        self.keys, self.steps = self.keys + len(text), self.steps + 1

    @property
    def seconds(self) -> float:
        pointed = self.clicks * (POINT_S + PRESS_S)
        return self.keys * KEY_S + pointed + self.steps * MIND_S


def answered(hand: Hand, choose: Callable[[Locator], None]) -> None:
    """Press a, put the answer right, say why, save."""
    hand.press("a")
    form = hand.page.locator("form.answer-edit")
    form.wait_for()
    choose(form)
    hand.type(form.get_by_label(re.compile("Why the change")), "phone")
    hand.press("Enter")
    hand.page.wait_for_url(re.compile("#sizing"))


def released(hand: Hand) -> None:
    hand.press("r")
    hand.page.get_by_text("Released to quote on").wait_for()


def voltage(hand: Hand) -> None:
    answered(hand, lambda form: hand.click(form.get_by_role("radio", name=re.compile("480 v"))))
    released(hand)


def plate(hand: Hand) -> None:
    right = "15 hp 460 V 3 ph 60 Hz 21 A code G"
    answered(hand, lambda form: hand.type(form.locator("textarea"), right))
    released(hand)


def height(hand: Hand) -> None:
    label = "How high above sea level is the site?"
    answered(hand, lambda form: hand.type(form.get_by_label(label), "9100 ft"))
    released(hand)


def mail(hand: Hand) -> None:
    hand.click(hand.page.locator(".finding-needs_person summary", has_text="Ask the customer"))
    hand.click(hand.page.get_by_role("button", name="Send the question"))
    hand.page.get_by_text("The customer was asked").wait_for()


def decline(hand: Hand) -> None:
    hand.click(hand.page.locator("summary", has_text="Decline"))
    words = "We have no set of that size. The utility may lend you one."
    hand.type(hand.page.get_by_label("What the customer will read"), words)
    hand.click(hand.page.get_by_role("button", name="Decline the request"))
    hand.page.get_by_text("Declined on").wait_for()


def life(hand: Hand) -> None:
    hand.click(hand.page.locator(".finding-needs_person summary", has_text="Accept as it is"))
    reason = "Marshal on the phone: the oxygen has its own batteries."
    hand.type(hand.page.locator(".finding-needs_person [id^=settle-]"), reason)
    hand.press("Enter")
    hand.page.get_by_text("waits for a second person").wait_for()


WORK = {"voltage": voltage, "plate": plate, "height": height, "mail": mail, "decline": decline,
        "life": life}  # fmt: skip


def ten_cases(stack: Stack) -> list[tuple[str, str]]:
    run = stack.run("shell", "--no-imports", "-c", SEND_TEN)
    found = re.findall(r"REF (\S+) (\S+)", run.stdout)
    assert len(found) == 10, run.stdout + run.stderr
    return found


def test_ten_mixed_cases(desk: Desk) -> None:
    cases = ten_cases(desk.stack)
    page = desk.signed_in("rep")
    print(f"\n{'case':10}{'clicks':>7}{'keys':>6}{'seconds':>9}")
    worked = []
    for kind, reference in cases:
        page.goto("/desk/?q=walk")
        hand = Hand(page)
        hand.click(page.locator(f"#case-{reference}"))
        page.locator("#decide").wait_for()
        WORK[kind](hand)
        worked.append(hand)
        print(f"{kind:10}{hand.clicks:7}{hand.keys:6}{hand.seconds:9.0f}")
    total = sum(hand.seconds for hand in worked)
    print(f"in all {total:.0f} s, longest {max(hand.seconds for hand in worked):.0f} s")
    assert desk.stack.rows(
        "select count(*) from intake_case where state = 'open' and search_text like '%walk %'"
    ) == [(0,)]
