"""What a CSV table is: its model, its columns, and the columns that name a row."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db import models

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


@dataclass(frozen=True, slots=True)
class Table:
    """One table. ``links`` maps a column to the model whose ``code`` it holds."""

    name: str
    model: type[models.Model]
    columns: tuple[str, ...]
    key: tuple[str, ...]
    links: Mapping[str, type[models.Model]] = field(default_factory=dict)
    readers: Mapping[str, Callable[[str], Any]] = field(default_factory=dict)
    writers: Mapping[str, Callable[[Any], str]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class RowProblem:
    """One thing wrong: the line of the file (the header is 1), the column, and what to do."""

    line: int
    column: str
    message: str


@dataclass(frozen=True, slots=True)
class Change:
    """What one line would do: ``added``, ``changed`` with before and after, or ``same``."""

    line: int
    kind: str
    key: str
    fields: Mapping[str, tuple[str, str]] = field(default_factory=dict)


def harmless(text: str) -> str:
    """A cell that no spreadsheet takes for a formula; numbers stay numbers."""
    if text.startswith(FORMULA_STARTS) and not _is_number(text):
        return "'" + text
    return text


def as_typed(text: str) -> str:
    """A cell without the mark that ``harmless`` put before it."""
    text = text.strip()
    return text[1:] if text.startswith("'") and text[1:].startswith(FORMULA_STARTS) else text


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
