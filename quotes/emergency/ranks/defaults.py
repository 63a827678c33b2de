"""The stated default: kinds of facility and their ranks, with the public source of each."""

from __future__ import annotations

import csv
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

FOLDER = Path(__file__).resolve().parent


@dataclass(frozen=True, slots=True)
class DefaultKind:
    """One kind of facility; ``why`` and ``source`` are said beside its rank."""

    code: str
    name: str
    name_es: str
    rank: int
    why: str
    source: str


@cache
def default_kinds() -> tuple[DefaultKind, ...]:
    """The default kinds in the order of their ranks."""
    with (FOLDER / "facility_kinds.csv").open(encoding="utf-8", newline="") as file:
        return tuple(
            DefaultKind(
                row["code"], row["name"], row["name_es"], int(row["rank"]), row["why"],
                source_line(row["source"]),
            )
            for row in csv.DictReader(file)
        )  # fmt: skip


@cache
def source_line(key: str) -> str:
    """A source as it is shown: document and section."""
    sources = tomllib.loads((FOLDER / "sources.toml").read_text(encoding="utf-8"))
    return f"{sources[key]['document']}, {sources[key]['section']}"
