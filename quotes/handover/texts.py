"""Words held as data in two languages, with the job's own words filled in."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

DATA = Path(__file__).parent / "data"


@dataclass(frozen=True, slots=True)
class Text:
    """One text in English and Spanish."""

    en: str
    es: str

    def said(self, words: Mapping[str, str], language: str = "en") -> str:
        """The text in a language, filled in."""
        text = self.es if language.startswith("es") and self.es else self.en
        return text.format_map(words)


def read(name: str) -> dict[str, Any]:
    """A file of the data folder."""
    return tomllib.loads((DATA / name).read_text(encoding="utf-8"))
