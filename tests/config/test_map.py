"""The map of the method in DEVELOPERS.md names every file of ``sizing`` once."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_every_chapter_file_is_on_the_map() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text()
    part = text.split("## The method, chapter by chapter")[1].split("## Working")[0]
    rows = [line for line in part.splitlines() if line.startswith("|")][2:]
    named = [name for row in rows for name in re.findall(r"`(\w+)`", row)]
    there = {path.stem for path in (ROOT / "sizing").glob("*.py")} - {"__init__"}
    assert there == set(named)
