"""What happened between the plan in force and now, for the reasons of a new plan."""

from __future__ import annotations

from quotes.emergency.allocation import Problem
from quotes.emergency.planning.differences import Facts
from quotes.emergency.planning.selectors import Seen, choices_of, key_of
from quotes.models import ChoiceKind, Need, NeedState, UnitState

ENDED = {NeedState.DONE: "It has its power back.", NeedState.WITHDRAWN: "It was withdrawn."}


def facts_between(found: Seen, problem: Problem) -> Facts:
    """Names and reasons by need and unit; asked only where there is a plan in force."""
    assert found.in_force is not None
    needs = list(Need.objects.filter(event=found.event))
    there = {unit for stock in problem.stocks for unit in stock.units}
    choices = [(c, (key_of(c.need_id), c.unit.number)) for c in choices_of(found.event)]
    return Facts(
        names={key_of(need): need.name for need in needs},
        ranks={key_of(need): need.rank for need in needs},
        ended={key_of(n): ENDED[NeedState(n.state)] for n in needs if n.state in ENDED},
        fresh=_fresh(found, needs),
        gone=_gone(found, there),
        came=frozenset(there - _units_then(found)),
        pinned={pair: c.reason for c, pair in choices if c.kind == ChoiceKind.PIN},
        banned={pair: c.reason for c, pair in choices if c.kind == ChoiceKind.FORBID},
    )


def _fresh(found: Seen, needs: list[Need]) -> frozenset[str]:
    """Needs that the plan in force did not know."""
    assert found.in_force is not None
    known = {site["key"] for site in found.in_force.problem.get("sites", ())}
    known |= {key for one in found.in_force.result.get("kept", ()) for key in one["needs"]}
    return frozenset(key_of(need) for need in needs) - known


def _units_then(found: Seen) -> set[str]:
    """Units the plan in force could send, or had under way."""
    assert found.in_force is not None
    stocks = found.in_force.problem.get("stocks", ())
    free = {unit for stock in stocks for unit in stock["units"]}
    return free | {delivery.unit.number for delivery in found.before}


def _gone(found: Seen, there: set[str]) -> dict[str, str]:
    """Units of the plan in force that can go nowhere now, and why."""
    kept = {delivery.unit_id for delivery in found.kept}
    gone: dict[str, str] = {}
    for delivery in found.before:
        unit = delivery.unit
        if unit.number in there or unit.pk in kept:
            continue
        said = f": {unit.note}" if unit.note else ""
        failed = unit.state == UnitState.WORKSHOP
        gone[unit.number] = f"is in the workshop{said}" if failed else "is not free any more"
    return gone
