"""Another set or other accessories than the method's own, measured by the same checks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from intake.desk.difference import sets_written
from sizing import GeneratorSet, Option, Part, Requirement, Result, read_requirement, recommend
from sizing.accessories import accessories
from sizing.around import around_checks
from sizing.evaluation import evaluate
from sizing.result import option_document
from sizing.unknowns import corner, settled, unknowns

Document = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Choice:
    """What a rep puts in place of the method's choice; ``sets`` is empty where only accessories
    differ, and ``accessories`` holds a quantity for each code that differs."""

    sets: str = ""
    accessories: Mapping[str, int] = field(default_factory=dict)
    reason: str = ""
    by: str = ""

    @property
    def empty(self) -> bool:
        return not self.sets and not self.accessories

    def document(self) -> Document:
        return {
            "sets": self.sets,
            "accessories": dict(self.accessories),
            "reason": self.reason,
            "by": self.by,
        }


def choice_of(result: Mapping[str, Any]) -> Choice:
    """The choice stored with a result; an empty one where the method's own stands."""
    kept = result.get("choice") or {}
    return Choice(**kept) if kept else Choice()


def chosen_result(
    result: Mapping[str, Any],
    document: Mapping[str, Any],
    fleet: Sequence[GeneratorSet],
    choice: Choice,
) -> Document | None:
    """A result with the choice in the first place, failing checks and all.

    ``None`` where the set is not in the fleet or nothing could be sized at all.
    """
    changed: Document = {**result, "choice": choice.document()}
    if choice.sets and choice.sets != sets_written(result):
        chosen = _alternative(result, choice) or _forced(document, fleet, choice)
        if chosen is None:
            return None
        first = [result["recommendation"]] if result.get("recommendation") else []
        others = [o for o in first + result["alternatives"] if _sets(o) != choice.sets]
        changed |= {"recommendation": chosen, "alternatives": others}
    if not changed.get("recommendation"):
        return None
    changed["recommendation"] = _with_accessories(changed["recommendation"], choice)
    return changed


def _alternative(result: Mapping[str, Any], choice: Choice) -> Document | None:
    """One of the method's own other ways, every check of which holds already."""
    found = next((o for o in result.get("alternatives", []) if _sets(o) == choice.sets), None)
    return {**found, "kind": "chosen", "why": choice.reason} if found else None


def _sets(option: Mapping[str, Any]) -> str:
    return sets_written({"recommendation": option})


def _forced(
    document: Mapping[str, Any], fleet: Sequence[GeneratorSet], choice: Choice
) -> Document | None:
    """One set of the fleet, measured whether it passes or not.

    What is not sure is taken at its hard end: whoever chooses must be right across the range.
    """
    set_ = next((one for one in fleet if one.code == choice.sets), None)
    requirement = read_requirement(document)
    result = recommend(requirement, fleet)
    if set_ is None or not result.demands or result.demands[0].supply not in set_.supplies:
        return None  # a wrong voltage destroys equipment: nobody may choose that
    open_ = unknowns(requirement)
    resolved = settled(requirement, open_, corner(open_, "high"))
    alone = recommend(requirement, (set_,))
    option = _option(set_, resolved, result, alone, choice.reason)
    return option_document(option, provisional=False)


def _option(
    set_: GeneratorSet, resolved: Requirement, result: Result, alone: Result, why: str
) -> Option:
    """The set as it passes by itself, else as it fails."""
    for option in alone.options:
        if option.machines == 1:
            return replace(option, kind="chosen", why=why)
    found = evaluate(set_, result.demands[0], resolved)
    around, _doubts = around_checks(set_, resolved, 1)
    return Option("chosen", (Part(found, set_, 1, accessories(found, resolved), around),), why)


def _with_accessories(option: Document, choice: Choice) -> Document:
    """Accessories with the chosen quantities; what the rules ask for and is left out fails."""
    listed = {item["code"]: item for item in option["accessories"]}
    checks = list(option["checks"])
    for code, quantity in choice.accessories.items():
        asked = listed.get(code, {}).get("quantity", 0)
        if quantity < asked:
            checks.append(_short(code, asked, quantity))
        why = listed.get(code, {}).get("why") or choice.reason
        listed[code] = {"length_m": None, **listed.get(code, {}), "code": code,
                        "quantity": quantity, "why": why}  # fmt: skip
    kept = [item for item in listed.values() if item["quantity"]]
    return {**option, "accessories": kept, "checks": checks}


def _short(code: str, asked: int, quantity: int) -> Document:
    return {
        "name": f"accessory_{code}",
        "required": asked,
        "provided": quantity,
        "unit": "pieces",
        "passed": False,
        "source": "rule of the accessory",
        "binding": True,
    }
