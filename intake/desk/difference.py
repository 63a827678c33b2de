"""What a change did: two stored results side by side."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from intake.desk.words import reason_title

Document = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Changed:
    """One figure before and after, as written on the page."""

    label: str
    before: str
    after: str


FIGURES = (
    ("Supply", "supply", ""),
    ("Load of the set", "load_percent", "%"),
    ("Voltage dip", "voltage_dip_percent", "%"),
    ("Frequency dip", "frequency_dip_percent", "%"),
    ("Rating on site", "site_kw", "kW"),
    ("Fuel a day", "fuel_l_per_day", "L"),
    ("Runs on one tank", "autonomy_h", "h"),
)
DEMAND = (
    ("Running", "running_kw", "kW"),
    ("Largest start", "start_kva", "kVA"),
    ("Worst step", "worst_step", ""),
)


def difference(before: Document, after: Document) -> list[Changed]:
    """Everything a rep wants to know that differs between two results, the set first."""
    pairs = [
        ("Outcome", outcome_words(before), outcome_words(after)),
        ("Set", sets_written(before), sets_written(after)),
        *_figures("recommendation", FIGURES, before, after),
        *_figures("demand", DEMAND, before, after),
        ("Accessories", *_only_here(_accessories(before), _accessories(after))),
        ("Failing checks", *_only_here(failing(before), failing(after))),
        ("Findings", *_only_here(_findings(before), _findings(after))),
    ]
    return [Changed(*pair) for pair in pairs if pair[1] != pair[2]]


def sets_written(result: Document) -> str:
    """The recommended sets: ``2 x C60 + C20``, or that there is none."""
    sets = (result.get("recommendation") or {}).get("sets", [])
    written = [f"{s['quantity']} x {s['code']}" if s["quantity"] > 1 else s["code"] for s in sets]
    return " + ".join(written) or "none"


def outcome_words(result: Document) -> str:
    words = {"recommended": "clear", "needs_person": "needs a person", "no_fit": "no set fits"}
    return words.get(str(result.get("outcome")), str(result.get("outcome")))


def failing(result: Document) -> list[str]:
    """The names of the checks that do not pass."""
    checks = (result.get("recommendation") or {}).get("checks", [])
    return [
        reason_title(check["name"])
        for check in checks
        if check.get("binding", True) and not check["passed"]
    ]


def figure(value: object, unit: str) -> str:
    """A figure, or several, as the desk writes them; a missing one is a dash."""
    if value is None or value == "":
        return "–"
    if isinstance(value, Mapping):
        return ", ".join(f"{name}: {figure(one, unit)}" for name, one in value.items()) or "–"
    if isinstance(value, list | tuple):
        return ", ".join(figure(one, unit) for one in value) or "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, int | float):
        return str(value).replace("_", " ")
    written = f"{value:,.1f}" if abs(value) < 100 else f"{value:,.0f}"
    return f"{written.removesuffix('.0')} {unit}".strip()


def _figures(
    part: str, wanted: tuple[tuple[str, str, str], ...], before: Document, after: Document
) -> list[tuple[str, str, str]]:
    old, new = before.get(part) or {}, after.get(part) or {}
    return [
        (label, figure(old.get(k), unit), figure(new.get(k), unit)) for label, k, unit in wanted
    ]


def _accessories(result: Document) -> list[str]:
    listed = (result.get("recommendation") or {}).get("accessories", [])
    return [reason_title(item["code"]) for item in listed]


def _findings(result: Document) -> list[str]:
    return [f"{reason_title(f['code'])}{_place(f['subject'])}" for f in result.get("findings", [])]


def _place(subject: str) -> str:
    """Which row of equipment a finding is about, counted as people count."""
    match = re.match(r"^loads\[(\d+)\]", subject)
    return f" (equipment {int(match[1]) + 1})" if match else ""


def _only_here(before: list[str], after: list[str]) -> tuple[str, str]:
    gone = [item for item in before if item not in after]
    new = [item for item in after if item not in before]
    return ", ".join(gone) or ("–" if new else ""), ", ".join(new) or ("–" if gone else "")
