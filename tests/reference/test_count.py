"""How many outside checks there are: one a parametrised row, over all chapters.

The aim was 150 or more. The count is taken from the collected tests, so it cannot drift.
"""

from __future__ import annotations

from pathlib import Path

import pytest

AIM = 150
CHAPTERS = (
    "nameplate", "supply", "starting", "sequence", "dip", "frequency", "rating", "selection",
    "phases", "duty", "fuel", "leads", "around", "sun",
)  # fmt: skip


def test_each_chapter_has_outside_checks() -> None:
    files = {path.name for path in Path(__file__).parent.glob("test_*_reference.py")}
    assert {f"test_{chapter}_reference.py" for chapter in CHAPTERS} <= files


def test_there_are_at_least_150_outside_checks(request: pytest.FixtureRequest) -> None:
    here = Path(__file__).parent
    rows = [item for item in request.session.items if item.path.parent == here]
    if len({item.path.name for item in rows}) <= len(CHAPTERS):
        pytest.skip("only part of the folder was collected")
    assert len(rows) >= AIM
