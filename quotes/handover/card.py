"""The start card: the order of steps for this job, by hand and by itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from quotes.handover.job import FACTS, HandoverJob
from quotes.handover.texts import Text, read


@dataclass(frozen=True, slots=True)
class Part:
    """Steps under one heading, in order."""

    key: str
    title: str
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Row:
    key: str
    text: Text
    when: tuple[str, ...]


@lru_cache(maxsize=1)
def card_rows() -> tuple[tuple[_Row, ...], tuple[_Row, ...]]:
    """Headings and steps of the data file."""
    found = read("start_card.toml")
    return tuple(map(_part, found["part"])), tuple(map(_step, found["step"]))


def _part(row: Mapping[str, Any]) -> _Row:
    return _row(row["key"], row)


def _step(row: Mapping[str, Any]) -> _Row:
    return _row(row["part"], row)


def _row(key: str, row: Mapping[str, Any]) -> _Row:
    when = tuple(row.get("when", ()))
    assert {name.removeprefix("!") for name in when} <= set(FACTS), row["en"]
    return _Row(key, Text(row["en"], row["es"]), when)


def start_card(job: HandoverJob, language: str = "en") -> tuple[Part, ...]:
    """The card of a job in a language."""
    heads, steps = card_rows()
    return tuple(
        Part(
            head.key,
            head.text.said(job.words, language),
            tuple(
                step.text.said(job.words, language)
                for step in steps
                if step.key == head.key and job.holds(step.when)
            ),
        )
        for head in heads
        if job.holds(head.when)
    )
