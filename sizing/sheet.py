"""The worked sheet as text: the trace by chapters, the findings and the cautions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import groupby
from typing import Any

WIDTH = 100
INDENT = "  "
TITLES = {
    "supply": "2  Supply",
    "nameplate": "1  Nameplates: running demand",
    "starting": "3  Starting",
    "sequence": "4  Sequence and worst step",
    "phases": "8  Phases",
    "duty": "9  Duty",
    "fuel": "9  Fuel and tank",
    "leads": "10  Leads",
    "site_rating": "6  Site rating",
    "dip": "5  Voltage dip",
    "frequency": "5  Frequency dip",
    "selection": "7  Checks of the set",
    "around": "11  Around the set",
}


def sheet(document: Mapping[str, Any]) -> str:
    """Return a result document as a worked sheet in plain text.

    Parameters
    ----------
    document : mapping
        What ``Result.document`` gives [-]

    Returns
    -------
    str
        Lines of at most 100 characters where no single word is longer, ending in a line break [-]

    Raises
    ------
    KeyError
        The document lacks a part that every result has.
    """
    parts = [
        *_head(document),
        *_chapters(document["trace"]),
        *_findings(document["findings"]),
        *_cautions(document["cautions"]),
    ]
    return "\n".join(parts) + "\n"


def _head(document: Mapping[str, Any]) -> list[str]:
    """Outcome, sets and accessories."""
    lines = ["WORKED SHEET", f"Outcome: {document['outcome'].replace('_', ' ')}"]
    chosen = document["recommendation"]
    if chosen is None:
        return [*lines, "No set is recommended."]
    word = "Provisional" if chosen["provisional"] else "Recommended"
    sets = ", ".join(f"{s['quantity']} x {s['code']} at {s['supply']}" for s in chosen["sets"])
    lines += _wrapped(f"{word}: {sets}. {chosen['why']}")
    for one in chosen["accessories"]:
        lines += _wrapped(f"{one['quantity']} x {one['code'].replace('_', ' ')}: {one['why']}", 1)
    return lines


def _chapters(trace: Iterable[Mapping[str, str]]) -> list[str]:
    """Every chapter with its lines, the source at the end of each."""
    lines: list[str] = []
    for chapter, group in groupby(trace, key=lambda line: line["chapter"]):
        lines += ["", TITLES.get(chapter, chapter)]
        for line in group:
            source = f"   [{line['source']}]" if line["source"] else ""
            lines += _wrapped(line["line"] + source, 1)
    return lines


def _findings(findings: Iterable[Mapping[str, Any]]) -> list[str]:
    """Doubts with their questions, the gravest first."""
    order = ("needs_person", "warning", "note")
    ranked = sorted(findings, key=lambda finding: order.index(finding["severity"]))
    lines = ["", "Findings"] if ranked else []
    for finding in ranked:
        asked = f" Ask: {finding['question']}" if finding["question"] else ""
        severity = finding["severity"].replace("_", " ")
        lines += _wrapped(f"{severity} at {finding['subject']}: {finding['detail']}{asked}", 1)
    return lines


def _cautions(cautions: Iterable[Mapping[str, str]]) -> list[str]:
    """The cautions that go with every sheet."""
    lines = [_wrapped(f"{caution['text']}   [{caution['source']}]", 1) for caution in cautions]
    return ["", "Cautions", *(text for wrapped in lines for text in wrapped)] if lines else []


def _wrapped(text: str, depth: int = 0) -> list[str]:
    """Text in lines; those after the first stand one step further in."""
    import textwrap

    first = INDENT * depth
    return textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=first + INDENT,
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip
