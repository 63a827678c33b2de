"""What the desk's page of an event shows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.http import Http404

from quotes.emergency.event.lines import NeedLine, counts, need_lines, newest_plan
from quotes.emergency.planning.limits import plan_seconds, time_words
from quotes.emergency.planning.making import plan_asked
from quotes.emergency.planning.selectors import (
    OPEN,
    branches_in_reach,
    choices_of,
    deliveries_of,
    plan_in_force,
    units_in_service,
)
from quotes.emergency.planning.stored import moment
from quotes.models import (
    OPEN_NEED_STATES,
    Delivery,
    EmergencyEvent,
    EmergencyPlan,
    EventState,
    Need,
    NeedState,
    Unit,
    UnitState,
)

Document = dict[str, Any]
SOON_S, LATER_S, LONG_S = 2, 10, 60.0  # a page that waits for a long plan asks less often
KIND_WORDS: dict[str, str] = {
    "new": "new",
    "other_set": "another set",
    "other_time": "another time",
    "dropped": "loses its set",
    "ended": "over",
}


@dataclass(frozen=True, slots=True)
class Changed:
    """One need between the plan in force and the new one."""

    name: str
    number: int | None
    kind: str
    words: str
    was: str
    is_: str
    was_at: datetime | None
    is_at: datetime | None
    why: str


@dataclass(frozen=True, slots=True)
class UnitLine:
    """A set of the yards in reach: where it is, and whether it may be said to fail or be back."""

    unit: Unit
    where: str
    may_fail: bool
    may_be_back: bool


def event_or_404(code: str) -> EmergencyEvent:
    found = EmergencyEvent.objects.select_related("opened_by").filter(code=code).first()
    if found is None:
        raise Http404("no such event")
    return found


def event_context(event: EmergencyEvent, now: datetime) -> Document:
    """Needs, plans, choices and sets of an event."""
    lines = need_lines(event, now)
    by_key = {str(line.need.pk): line for line in lines}
    planning = planning_context(event)
    in_force: EmergencyPlan | None = planning["in_force"]
    plan: EmergencyPlan | None = planning["plan"]
    shown = plan or in_force
    return {
        **planning,
        "open": event.state == EventState.OPEN,
        "lines": [line for line in lines if line.open],
        "over": [line for line in lines if not line.open],
        "waiting": [line for line in lines if line.open and line.need.waits_for_person],
        "counts": counts(lines),
        "shown": shown,
        "changed": _changed(shown, by_key),
        "same": _same(shown),
        "against": (shown.result.get("against") if shown else None),
        "unmet": _told(shown, "unmet", "need", "words", by_key),
        "dropped": _told(shown, "choices_dropped", "key", "why", by_key),
        "one_more": (shown.result.get("one_more") or []) if shown else [],
        "goals": (shown.result.get("goals") or []) if shown else [],
        "choices": [one for one in choices_of(event) if one.need.state in OPEN_NEED_STATES],
        "units": _units(event, [line.need for line in lines]),
        "loose": Need.objects.filter(event=None, state__in=OPEN_NEED_STATES),
        "overdue": [line for line in lines if line.overdue],
    }


def planning_context(event: EmergencyEvent) -> Document:
    """How far planning is: all that the part of the page needs which asks again and again."""
    return {
        "event": event,
        "in_force": plan_in_force(event),
        "plan": newest_plan(event),
        "planning": _planning(event) if plan_asked(event) else None,
    }


def _planning(event: EmergencyEvent) -> Document:
    """How long the plan that is asked for may be searched once it is begun, and when to look."""
    needs = Need.objects.filter(event=event, state__in=OPEN)
    places = list(needs.only("latitude", "longitude", "requirement"))
    sets = units_in_service(branches_in_reach(places)).count()
    seconds = plan_seconds(len(places), sets)
    return {"time": time_words(seconds), "look_s": SOON_S if seconds < LONG_S else LATER_S}


def _changed(plan: EmergencyPlan | None, lines: dict[str, NeedLine]) -> list[Changed]:
    found = plan.result.get("changes", []) if plan else []
    return [_change(one, lines) for one in found if one["kind"] != "same"]


def _change(one: Document, lines: dict[str, NeedLine]) -> Changed:
    line = lines.get(one["need"])
    was, is_ = one["before"], one["after"]
    return Changed(
        name=line.need.name if line else "",
        number=line.number if line else None,
        kind=one["kind"],
        words=KIND_WORDS.get(str(one["kind"]), ""),
        was=" and ".join(was["units"]) if was else "",
        is_=" and ".join(is_["units"]) if is_ else "",
        was_at=moment(was["arrive_at"]) if was else None,
        is_at=moment(is_["arrive_at"]) if is_ else None,
        why=one["why"],
    )


def _same(plan: EmergencyPlan | None) -> int:
    return sum(one["kind"] == "same" for one in plan.result.get("changes", ())) if plan else 0


def _told(
    plan: EmergencyPlan | None, name: str, key: str, words: str, lines: dict[str, NeedLine]
) -> list[tuple[NeedLine, str]]:
    """Sentences of a plan about needs that are still open."""
    rows = plan.result.get(name, []) if plan else []
    found = [(lines[one[key]], one[words]) for one in rows if one[key] in lines]
    return [(line, said) for line, said in found if line.open]


def _units(event: EmergencyEvent, needs: list[Need]) -> list[UnitLine]:
    """Sets of the yards in reach, the larger ones last."""
    branches = branches_in_reach(needs)
    units = Unit.objects.filter(branch__in=branches).exclude(state=UnitState.RETIRED)
    out = {d.unit_id: d for d in deliveries_of(plan_in_force(event))}
    rows = units.select_related("set_type", "branch").order_by(
        "branch__code", "set_type__prime_kw", "number"
    )
    return [_unit_line(unit, out.get(unit.pk)) for unit in rows]


def _unit_line(unit: Unit, delivery: Delivery | None) -> UnitLine:
    if unit.state == UnitState.WORKSHOP:
        said = f": {unit.note}" if unit.note else ""
        return UnitLine(unit, f"in the workshop{said}", may_fail=False, may_be_back=True)
    needs = [n for n in delivery.needs.all() if n.state in OPEN_NEED_STATES] if delivery else []
    if not needs:
        return UnitLine(unit, "in its yard", may_fail=True, may_be_back=False)
    names = " and ".join(need.name for need in needs)
    state = NeedState(needs[0].state)
    words = {
        NeedState.PROMISED: f"promised to {names}",
        NeedState.ON_THE_WAY: f"on the way to {names}",
        NeedState.RUNNING: f"runs at {names}",
    }
    return UnitLine(unit, words.get(state, "in its yard"), may_fail=True, may_be_back=False)
