"""What each possible answer to a finding's question would lead to, by sizing for every one."""

from __future__ import annotations

import re
from collections.abc import Callable, Container, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from intake.desk.difference import sets_written
from intake.desk.sizing import changed, sized_document
from intake.desk.subjects import LOAD_PATH
from sizing import DocumentRefused, GeneratorSet
from sizing.nameplate import NameplateRefused, read_nameplate
from sizing.requirement import STARTING_METHODS, SUPPLIES
from sizing.unknowns import say

Document = Mapping[str, Any]
Path = list[str | int]
MOST = 6  # answers tried for one question
LEVELS = ("low", "likely", "high")
UNITS = {"m": "m", "degc": "degC", "h": "h", "c": "degC"}


@dataclass(frozen=True, slots=True)
class Effect:
    """If the answer is this, then that."""

    answer: str
    sets: str
    words: str
    clear: bool


@dataclass(frozen=True, slots=True)
class Candidate:
    """One possible answer, and the requirement with it put in."""

    answer: str
    document: dict[str, Any]


def effects(
    finding: Mapping[str, Any],
    document: Document,
    fleet: Sequence[GeneratorSet],
    known: Container[tuple[str, str]] = (),
) -> list[Effect]:
    """Every likely answer to a finding's question with its outcome; empty where none is listed.

    ``known`` are the findings the case has anyway, by code and subject: an answer is judged by
    what it brings beyond them.
    """
    return [_effect(one, known, fleet) for one in candidates(finding, document)[:MOST]]


def candidates(finding: Mapping[str, Any], document: Document) -> list[Candidate]:
    """The answers worth trying for a finding, each put into the requirement."""
    subject = finding["subject"]
    if subject == "supply" or finding["code"] in SUPPLY_CODES:
        return [Candidate(one, changed(document, ["supply"], one)) for one in SUPPLIES]
    evidence = finding.get("evidence") or {}
    for rule in (_of_band, _of_flag, _of_load):
        found = rule(subject, evidence, document)
        if found:
            return found
    return []


SUPPLY_CODES = ("supply_unsure", "voltage_mismatch", "phase_mismatch", "two_voltages")
FLAGS = {"site.transfer_equipment", "site.feeds_building", "site.crossing", "site.public_nearby"}


def _of_band(subject: str, evidence: Document, document: Document) -> list[Candidate]:
    """The ends of a stated range: ``low_m``, ``likely_m``, ``high_m``."""
    match = re.match(r"^site\.(\w+)$", subject)
    units = {key.partition("_")[2] for key in evidence if key.startswith("low_")}
    if match is None or not units or not units <= set(UNITS):
        return []
    suffix = units.pop()
    values = dict.fromkeys(float(evidence[f"{level}_{suffix}"]) for level in LEVELS)
    unit = UNITS[suffix]
    path = ["site", match[1]]
    return [Candidate(say(v, unit), changed(document, path, f"{v} {unit}")) for v in values]


def _of_flag(subject: str, evidence: Document, document: Document) -> list[Candidate]:
    if subject not in FLAGS:
        return []
    path = subject.split(".")
    return [Candidate(w, changed(document, path, v)) for w, v in (("yes", True), ("no", False))]


def _of_load(subject: str, evidence: Document, document: Document) -> list[Candidate]:
    match = LOAD_PATH.match(subject)
    if match is None or int(match[1]) >= len(document["loads"]):
        return []
    index, field = int(match[1]), match[2] or "nameplate"
    rule = LOAD_FIELDS.get(field)
    return rule(index, document) if rule else []


def _starting(index: int, document: Document) -> list[Candidate]:
    tried = [m for m in STARTING_METHODS if m in ("across_the_line", "soft_starter", "vfd")]
    path: Path = ["loads", index, "starting"]
    return [Candidate(m.replace("_", " "), changed(document, path, m)) for m in tried]


def _switched(field: str) -> Callable[[int, Document], list[Candidate]]:
    def rule(index: int, document: Document) -> list[Candidate]:
        path: Path = ["loads", index, field]
        return [Candidate(w, changed(document, path, v)) for w, v in (("yes", True), ("no", False))]

    return rule


def _nameplate(index: int, document: Document) -> list[Candidate]:
    """A plate that contradicts itself: the requirement as if each figure were the wrong one."""
    given = document["loads"][index].get("nameplate")
    figures = _plate_figures(given)
    path: Path = ["loads", index, "nameplate"]
    return [
        Candidate(
            f"the {label} is wrong",
            changed(document, path, {k: v for k, v in figures.items() if k != name}),
        )
        for name, label in PLATE_FIGURES.items()
        if name in figures
    ]


PLATE_FIGURES = {"hp": "power in hp", "amps": "current", "kva": "kVA", "watts": "power in watts"}


def _plate_figures(given: Any) -> dict[str, Any]:
    if isinstance(given, Mapping):
        return dict(given)
    try:
        plate = read_nameplate(given)
    except NameplateRefused:
        return {}
    names = ("hp", "volts", "phases", "amps", "hertz", "code_letter", "power_factor",
             "efficiency", "watts", "kva", "locked_rotor_amps")  # fmt: skip
    values = {name: getattr(plate, name, None) for name in names}
    return {name: _plain(value) for name, value in values.items() if value not in (None, ())}


def _plain(value: Any) -> Any:
    """A plate's own figure as a document writes it; of several voltages the first."""
    return value[0] if isinstance(value, tuple) else value


LOAD_FIELDS: dict[str, Callable[[int, Document], list[Candidate]]] = {
    "starting": _starting,
    "float_switch": _switched("float_switch"),
    "restarts_itself": _switched("restarts_itself"),
    "nameplate": _nameplate,
}


def _effect(
    candidate: Candidate, known: Container[tuple[str, str]], fleet: Sequence[GeneratorSet]
) -> Effect:
    try:
        result = sized_document(candidate.document, fleet)
    except DocumentRefused as refusal:
        return Effect(candidate.answer, "none", str(refusal.problems[0].message), clear=False)
    stops = [
        f
        for f in result["findings"]
        if f["severity"] == "needs_person" and (f["code"], f["subject"]) not in known
    ]
    words = stops[0]["detail"] if stops else (result["recommendation"] or {}).get("why", "")
    return Effect(candidate.answer, sets_written(result), words, clear=not stops)
