"""What a plan changes against the one in force, need by need, and why. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum

NOTICEABLE = timedelta(minutes=15)
RANK_WORDS = {1: "life-saving", 2: "life-sustaining", 3: "other municipal"}


class Kind(StrEnum):
    NEW = "new"
    OTHER_SET = "other_set"
    OTHER_TIME = "other_time"
    DROPPED = "dropped"
    ENDED = "ended"
    SAME = "same"


@dataclass(frozen=True, slots=True)
class Given:
    """What a plan gives one need."""

    units: tuple[str, ...]
    arrive_at: datetime
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class Facts:
    """What else is known between two plans.

    ``names``, ``ranks``: by need. ``ended``: needs that left the event, with the reason.
    ``fresh``: needs that came in since. ``gone``: units no longer free, with the reason.
    ``came``: units that were not free before. ``pinned``, ``banned``: a rep's reasons by
    (need, unit).
    """

    names: Mapping[str, str]
    ranks: Mapping[str, int]
    ended: Mapping[str, str] = field(default_factory=dict)
    fresh: frozenset[str] = frozenset()
    gone: Mapping[str, str] = field(default_factory=dict)
    came: frozenset[str] = frozenset()
    pinned: Mapping[tuple[str, str], str] = field(default_factory=dict)
    banned: Mapping[tuple[str, str], str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Difference:
    """One need between two plans: what was, what is to be, and why."""

    key: str
    kind: Kind
    before: Given | None
    after: Given | None
    why: str = ""


def differences(
    before: Mapping[str, Given], after: Mapping[str, Given], facts: Facts
) -> tuple[Difference, ...]:
    """Every need of either plan, what changes first, by rank and name."""
    found = [_difference(key, before, after, facts) for key in {*before, *after}]
    order = list(Kind)

    def place(one: Difference) -> tuple[bool, int, int, str]:
        rank, name = facts.ranks.get(one.key, 9), facts.names.get(one.key, one.key)
        return one.kind is Kind.SAME, rank, order.index(one.kind), name

    return tuple(sorted(found, key=place))


def _difference(
    key: str, before: Mapping[str, Given], after: Mapping[str, Given], facts: Facts
) -> Difference:
    was, is_ = before.get(key), after.get(key)
    if was is None:
        return Difference(key, Kind.NEW, None, is_, _why_new(key, before, after, facts))
    if is_ is None:
        if key in facts.ended:
            return Difference(key, Kind.ENDED, was, None, facts.ended[key])
        return Difference(key, Kind.DROPPED, was, None, _why_lost(key, before, after, facts))
    if set(was.units) != set(is_.units):
        why = _why_other(key, before, after, facts)
        return Difference(key, Kind.OTHER_SET, was, is_, why)
    if abs(is_.arrive_at - was.arrive_at) >= NOTICEABLE:
        sooner = is_.arrive_at < was.arrive_at
        why = "The trucks get there sooner." if sooner else "The trucks leave for others first."
        return Difference(key, Kind.OTHER_TIME, was, is_, why)
    return Difference(key, Kind.SAME, was, is_)


def _why_new(
    key: str, before: Mapping[str, Given], after: Mapping[str, Given], facts: Facts
) -> str:
    came_in = "It came in since the plan in force." if key in facts.fresh else ""
    return f"{came_in} {_origin(key, before, after, facts)}".strip()


def _why_other(
    key: str, before: Mapping[str, Given], after: Mapping[str, Given], facts: Facts
) -> str:
    lost = _loss(key, before[key].units, after, facts)
    return f"{lost} {_origin(key, before, after, facts)}".strip() or "It fits the whole better."


def _why_lost(
    key: str, before: Mapping[str, Given], after: Mapping[str, Given], facts: Facts
) -> str:
    lost = _loss(key, before[key].units, after, facts)
    return f"{lost} No other set that passes its checks is left for it.".strip()


def _loss(key: str, units: Iterable[str], after: Mapping[str, Given], facts: Facts) -> str:
    """What became of the units a need had."""
    now_with = _holders(after)
    for unit in units:
        if unit in facts.gone:
            return f"{unit} {facts.gone[unit]}."
        if (key, unit) in facts.banned:
            return f"{unit} is kept from it: {facts.banned[key, unit]}"
        holder = now_with.get(unit)
        if holder is not None and holder != key:
            return f"{unit} goes to {_named(holder, facts)}."
    return ""


def _origin(key: str, before: Mapping[str, Given], after: Mapping[str, Given], facts: Facts) -> str:
    """Where the units a need now gets come from."""
    was_with = _holders(before)
    for unit in after[key].units:
        if (key, unit) in facts.pinned:
            return f"{unit} is pinned: {facts.pinned[key, unit]}"
        holder = was_with.get(unit)
        if holder is not None and holder != key:
            return _taken_from(unit, holder, after, facts)
        if unit in facts.came:
            return f"{unit} came free."
    units = [unit for unit in after[key].units if unit not in was_with]
    return f"{' and '.join(units)} stood in the yard." if units else ""


def _taken_from(unit: str, holder: str, after: Mapping[str, Given], facts: Facts) -> str:
    name = facts.names.get(holder, holder)
    if holder in facts.ended:
        return f"{unit} was meant for {name}, which needs it no more."
    if holder in after:
        return f"{unit} was meant for {name}, which gets {' and '.join(after[holder].units)}."
    return f"{unit} was meant for {_named(holder, facts)}, which waits."


def _holders(plan: Mapping[str, Given]) -> dict[str, str]:
    return {unit: key for key, given in plan.items() for unit in given.units}


def _named(key: str, facts: Facts) -> str:
    rank = RANK_WORDS.get(facts.ranks.get(key, 0), "")
    name = facts.names.get(key, key)
    return f"{name} ({rank})" if rank else name
