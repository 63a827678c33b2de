"""Which types of set a place can do with: each tried by the method on its own, alone or as a pair.

A type is kept only where every binding check passed at the hardest end of what is not known. A
place that can do with part of its load is tried again without its lowest priorities, also with one
set of a type that carries the whole as a pair: where sets are few, the other one may go elsewhere.
Where sets would carry the whole but for a doubt, a person settles it: a part is no way around it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from importlib.metadata import version
from typing import Any

from intake.requests.runs import digest
from sizing.combinations import Option
from sizing.fleet import GeneratorSet
from sizing.recommend import recommend
from sizing.requirement import read_requirement
from sizing.result import Result, option_document
from sizing.versions import versions

Document = dict[str, Any]
PAIR = 2
PLAIN_KINDS = ("one_set", "parallel")  # what asks nothing of the people on site
SHOWN = ("running_kw", "running_kva", "start_kva", "start_kw", "worst_step")


@dataclass(frozen=True, slots=True)
class Fitness:
    """What came of it. ``person`` holds why a person must look, empty where none must."""

    options: list[Document]
    findings: list[Document]
    summary: Document
    against: str
    person: list[str]


def against_version(fleet: Sequence[GeneratorSet]) -> str:
    """What an answer rests on: the records of the sets, the tables and the program."""
    records = [repr(replace(one, quantity=min(one.quantity, PAIR))) for one in fleet]
    return f"{digest(sorted(records))[:12]}.{versions()['tables']}.{version('setwright')}"


def fitness(
    document: Document,
    fleet: Sequence[GeneratorSet],
    *,
    priorities: Sequence[int] = (),
    partial: bool = False,
) -> Fitness:
    """Every type of the fleet that serves a requirement, wholly or in part.

    ``priorities`` are those of the loads, in their order; the highest number is shed first.
    Refuses with ``DocumentRefused`` what the method cannot read.
    """
    whole = recommend(read_requirement(document), fleet)
    full_kw = _running_kw(whole)
    tried = _tried(document, fleet, 1.0)
    if partial and full_kw:
        for part in _parts(document, priorities):
            left = [one for one in fleet if (one.code, 1) not in tried]
            kept_kw = _running_kw(recommend(read_requirement(part), fleet[:1]))
            if 0 < kept_kw < full_kw:
                found = _tried(part, left, round(kept_kw / full_kw, 3))
                tried |= {key: one for key, one in found.items() if key not in tried}
    every = [option for option, _sure in tried.values()]
    clean = [option for option, sure in tried.values() if sure]
    entire = [sure for option, sure in tried.values() if option["share"] == 1]
    settled = bool(clean) and (any(entire) or not entire)
    findings = whole.document()["findings"]
    return Fitness(
        options=clean if settled else every,
        findings=findings,
        summary=_summary(whole),
        against=against_version(fleet),
        person=[] if settled else _person(findings),
    )


def _tried(
    document: Document, fleet: Sequence[GeneratorSet], share: float
) -> dict[tuple[str, int], tuple[Document, bool]]:
    """What passes by type and count: its option, and whether nothing about it needs a person."""
    requirement = read_requirement(document)
    found: dict[tuple[str, int], tuple[Document, bool]] = {}
    for one in fleet:
        result = recommend(requirement, [one])
        option = next((o for o in result.options if o.kind in PLAIN_KINDS), None)
        if option is not None and _passes(option):
            written = _written(option, share)
            found[one.code, written["count"]] = (written, result.outcome == "recommended")
    return found


def _passes(option: Option) -> bool:
    checks = [check for part in option.parts for check in part.checks]
    return bool(checks) and all(check.passed or not check.binding for check in checks)


def _written(option: Option, share: float) -> Document:
    document = option_document(option, False)
    (part,) = option.parts
    return {
        "set_code": part.set_.code,
        "count": part.quantity,
        "share": share,
        "supply": document["supply"],
        "load_percent": document.get("load_percent"),
        "fuel_l_per_day": document.get("fuel_l_per_day"),
        "accessories": document["accessories"],
        "checks": document["checks"],
    }


def _parts(document: Document, priorities: Sequence[int]) -> list[Document]:
    """The requirement with ever fewer loads: the lowest priority goes first, the first stays."""
    levels = sorted(set(priorities))
    return [_kept(document, priorities, level) for level in reversed(levels[:-1])]


def _kept(document: Document, priorities: Sequence[int], level: int) -> Document:
    kept = [
        dict(load)
        for load, priority in zip(document["loads"], priorities, strict=True)
        if priority <= level
    ]
    names = {load.get("name") for load in kept}
    for load in kept:
        for link in ("starts_after", "never_with"):
            if load.get(link) not in names:
                load.pop(link, None)
    return {**document, "loads": kept}


def _running_kw(result: Result) -> float:
    return float(result.demands[0].sequence.peak_kw) if result.demands else 0.0


def _summary(result: Result) -> Document:
    """The figures a list of sites shows."""
    document = result.document()
    demand: Mapping[str, Any] = document["demand"] or {}
    first = document["recommendation"]
    return {
        "outcome": document["outcome"],
        "sets": first["sets"] if first else [],
        **{name: demand[name] for name in SHOWN if name in demand},
    }


def _person(findings: Sequence[Document]) -> list[str]:
    """Why a person must look, in the method's words."""
    said = [one["detail"] for one in findings if one["severity"] == "needs_person"]
    return list(dict.fromkeys(said)) or ["No set of the fleet passes every check."]
