"""An invented hire company: its fleet, rates and stories, for demo, tests and README alike."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent
STORIES = FOLDER / "stories"


def fleet_path() -> Path:
    """The demo fleet as CSV."""
    return FOLDER / "fleet.csv"


def story_names() -> list[str]:
    """Names of the stories, sorted."""
    return sorted(path.stem for path in STORIES.glob("*.json") if "." not in path.stem)


def story_path(name: str) -> Path:
    """The requirement of a story as JSON."""
    return STORIES / f"{name}.json"


def story(name: str) -> dict[str, Any]:
    """The requirement of a story."""
    return _read(story_path(name))


def expected(name: str) -> dict[str, Any]:
    """What a story must come to: outcome, sets, accessories, findings."""
    return _read(STORIES / f"{name}.expected.json")


def _read(path: Path) -> dict[str, Any]:
    document: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return document
