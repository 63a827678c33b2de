"""What the rounds count as unsure, and what as told to nobody."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from tests.faults.checks import accepted_twice, untold
from tests.faults.ledger import Ledger

ORDERED = Counter({("accepted", "AAAA-BBBB"): 1})


@pytest.fixture
def ledger(tmp_path: Path) -> Ledger:
    made = Ledger(tmp_path / "ledger.jsonl")
    made.asked("accepted", "one", "AAAA-BBBB")
    return made


def test_an_effect_of_a_call_that_got_no_answer_is_neither_lost_nor_untold(ledger: Ledger) -> None:
    assert ledger.unsure() == {("accepted", "one"): "AAAA-BBBB"}
    assert not list(untold(ORDERED, ledger))
    assert not list(untold(Counter(), ledger))
    assert not list(accepted_twice(ledger.copy()))


def test_an_effect_of_a_call_that_was_refused_is_told_to_nobody(ledger: Ledger) -> None:
    ledger.refused("accepted", "one", "offer_closed")
    assert len(list(untold(ORDERED, ledger))) == 1


def test_an_effect_beyond_what_was_acknowledged_is_found(ledger: Ledger) -> None:
    ledger.acknowledged("accepted", "one", "AAAA-BBBB", "AAAA-BBBB-R1")
    assert not ledger.unsure()
    assert not list(untold(ORDERED, ledger))
    assert len(list(untold(ORDERED + ORDERED, ledger))) == 1


def test_a_request_by_page_is_known_by_its_mail_address(ledger: Ledger) -> None:
    ledger.asked("answered", "W0-00001", "CCCC-DDDD")
    assert not list(untold(Counter({("made", "w0-00001"): 1}), ledger))
    assert len(list(untold(Counter({("photo", "CCCC-DDDD"): 1}), ledger))) == 1
