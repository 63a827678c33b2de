"""A stored run computed again: the same, or which of tables, code, fleet and answers changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.metadata import version
from typing import Any

from intake.desk.choosing import choice_of, chosen_result
from intake.desk.difference import Changed, difference
from intake.models import SizingRun
from intake.requests.requirement import requirement_document
from intake.requests.runs import digest, fleet_for, sized

IGNORED = ("versions",)


@dataclass(frozen=True, slots=True)
class Recomputed:
    """What came of it: ``same``, else what differs and what it comes from."""

    same: bool
    causes: tuple[str, ...]
    changes: tuple[Changed, ...]


def recomputed(run: SizingRun) -> Recomputed:
    """Compute a stored run again from its own stored requirement."""
    fleet = fleet_for(run.requirement)
    result: Mapping[str, Any] | None = sized(run.request, run.requirement, fleet)
    choice = choice_of(run.result)
    if not choice.empty and result is not None:
        result = chosen_result(result, run.requirement, fleet, choice) or result
    assert result is not None
    causes = tuple(_causes(run, result, digest([repr(set_) for set_ in fleet])))
    same = _plain(result) == _plain(run.result)
    return Recomputed(same, causes, tuple(difference(run.result, result)))


def _causes(run: SizingRun, result: Mapping[str, Any], fleet_digest: str) -> list[str]:
    """Which of the things a result rests on are not what they were."""
    now = result.get("versions", {})
    then = run.result.get("versions", {})
    causes = [
        f"{name}: {then.get(name, 'not recorded')} then, {now[name]} now"
        for name in now
        if then.get(name) != now[name]
    ]
    if run.fleet_digest != fleet_digest:
        causes.append("the fleet's records are not the same")
    if requirement_document(run.request) != run.requirement:
        causes.append("answers were changed after this run")
    if run.code_version != version("setwright"):
        causes.append(f"program {run.code_version} then, {version('setwright')} now")
    return causes


def _plain(result: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in result.items() if name not in IGNORED}
