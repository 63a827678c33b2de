"""One line for each need of an event: what it has, what it is to get, what may be done."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from intake.desk.words import span
from quotes.emergency.hookup import HookUp, hook_up
from quotes.emergency.moves import MOVES
from quotes.emergency.paging.words import call_late, call_words
from quotes.emergency.planning.selectors import OPEN, deliveries_of, plan_in_force
from quotes.models import (
    OPEN_NEED_STATES,
    Delivery,
    EmergencyEvent,
    EmergencyPlan,
    Need,
    NeedState,
    PlanState,
)

Document = dict[str, Any]
MOVE_WORDS = {
    NeedState.ON_THE_WAY: "It has left",
    NeedState.RUNNING: "It runs",
    NeedState.DONE: "Needed no more",
    NeedState.WITHDRAWN: "Withdraw",
    NeedState.NEEDED: "Needs another set",
}
FORWARD = (NeedState.ON_THE_WAY, NeedState.RUNNING)  # no slip of a thumb ends a need
SHAPES = {  # a shape and a letter each, so that no colour is needed
    NeedState.NEEDED: ("diamond", "N"),
    NeedState.PROMISED: ("circle", "P"),
    NeedState.ON_THE_WAY: ("triangle", "W"),
    NeedState.RUNNING: ("square", "R"),
    NeedState.DONE: ("ring", "D"),
    NeedState.WITHDRAWN: ("ring", "X"),
}


@dataclass(frozen=True, slots=True)
class Share:
    """What a plan gives a need."""

    units: tuple[str, ...]
    set_code: str
    yard: str
    depart_at: datetime
    arrive_at: datetime
    late_minutes: int
    percent: int
    together: tuple[str, ...] = ()

    @property
    def late(self) -> str:
        return span(timedelta(minutes=self.late_minutes))


@dataclass(frozen=True, slots=True)
class NeedLine:
    """A need as the pages show it; ``number`` is its number on the map."""

    need: Need
    number: int
    has: Share | None
    gets: Share | None
    overdue: bool
    moves: tuple[tuple[str, str], ...] = ()  # all that may be said of it
    codes: tuple[str, ...] = ()
    shape: str = ""
    letter: str = ""
    open: bool = True
    call: str = ""
    call_late: bool = False

    @property
    def steps(self) -> tuple[tuple[str, str], ...]:
        """What comes next as a rule; the rest is said on the need's own page."""
        return tuple(move for move in self.moves if move[0] in FORWARD)

    @property
    def hook_up(self) -> HookUp:
        """What the set connects to; the pages that show it ask."""
        return hook_up(self.need)


def newest_plan(event: EmergencyEvent) -> EmergencyPlan | None:
    """The newest plan that is not in force, if it is newer than the one that is."""
    newest = EmergencyPlan.objects.filter(event=event).select_related("made_by").last()
    return newest if newest is not None and newest.state == PlanState.MADE else None


def need_lines(event: EmergencyEvent, now: datetime) -> list[NeedLine]:
    """All needs of an event, the most pressing first; those that are over last."""
    needs = list(Need.objects.filter(event=event).select_related("person_cleared_by", "site"))
    numbers = {need.pk: n for n, need in enumerate(sorted(needs, key=lambda one: one.pk), 1)}
    has = shares_of(deliveries_of(plan_in_force(event)))
    gets = shares_of(deliveries_of(newest_plan(event)))
    needs.sort(key=lambda one: (one.state not in OPEN_NEED_STATES, one.rank, one.need_by, one.pk))
    return [_line(need, numbers[need.pk], has, gets, now) for need in needs]


def _line(
    need: Need, number: int, has: Mapping[int, Share], gets: Mapping[int, Share], now: datetime
) -> NeedLine:
    state = NeedState(need.state)
    shape, letter = SHAPES[state]
    waiting = state in (*OPEN, NeedState.ON_THE_WAY)
    return NeedLine(
        need=need,
        number=number,
        has=has.get(need.pk) if state in OPEN_NEED_STATES and state != NeedState.NEEDED else None,
        gets=gets.get(need.pk),
        overdue=waiting and need.need_by < now,
        moves=moves_of(state, has_set=need.pk in has),
        codes=codes_of(need.options),
        shape=shape,
        letter=letter,
        open=state in OPEN_NEED_STATES,
        call=call_words(need, now) if need.owes_call else "",
        call_late=call_late(need, now),
    )


def codes_of(options: Sequence[Document]) -> tuple[str, ...]:
    """Types that pass, written as staff say them: ``2 x T60``, ``T40 for 60 %``."""
    return tuple(
        (f"{o['count']} x " if o.get("count", 1) > 1 else "")
        + str(o["set_code"])
        + (f" for {100 * o['share']:.0f} %" if o.get("share", 1) < 1 else "")
        for o in options
    )


def moves_of(state: NeedState, *, has_set: bool) -> tuple[tuple[str, str], ...]:
    """What a rep may say happened; ``promised`` comes with a plan only."""
    order = [NeedState.ON_THE_WAY, NeedState.RUNNING, NeedState.DONE, NeedState.NEEDED,
             NeedState.WITHDRAWN]  # fmt: skip
    away = {NeedState.PROMISED} if has_set else {NeedState.PROMISED, *order[:2]}
    return tuple(
        (str(target), MOVE_WORDS[target]) for target in order if target in MOVES[state] - away
    )


def shares_of(deliveries: Iterable[Delivery]) -> dict[int, Share]:
    """What each need gets by a plan, by the need's id."""
    found: defaultdict[int, list[Delivery]] = defaultdict(list)
    for delivery in deliveries:
        for need in delivery.needs.all():
            found[need.pk].append(delivery)
    return {pk: _share(pk, rows) for pk, rows in found.items()}


def _share(pk: int, rows: Sequence[Delivery]) -> Share:
    first = rows[0]
    return Share(
        units=tuple(row.unit.number for row in rows),
        set_code=first.unit.set_type.code,
        yard=first.branch.name,
        depart_at=min(row.depart_at for row in rows),
        arrive_at=max(row.arrive_at for row in rows),
        late_minutes=first.late_minutes,
        percent=round(100 * first.share),
        together=tuple(need.name for need in first.needs.all() if need.pk != pk),
    )


def counts(lines: Iterable[NeedLine]) -> list[tuple[str, str, str, int]]:
    """How many needs are in each state: state, shape, words, number."""
    found: defaultdict[str, int] = defaultdict(int)
    for line in lines:
        found[line.need.state] += 1
    return [
        (str(state), SHAPES[state][0], str(state.label), found[state])
        for state in NeedState
        if state != NeedState.WITHDRAWN or found[state]
    ]
