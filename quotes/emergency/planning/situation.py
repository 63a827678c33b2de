"""What is known at one moment, in plain rows, and the allocation problem it makes. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from quotes.emergency.allocation import Demand, Option, Problem, Site, Stock, Yard


@dataclass(frozen=True, slots=True)
class NeedRow:
    """An open need that is not yet served. ``waits`` says why no plan may serve it; else empty."""

    key: str
    name: str
    rank: int
    need_by: datetime
    latitude_deg: float | None
    longitude_deg: float | None
    options: tuple[Option, ...] = ()
    waits: str = ""
    accepted_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class UnitRow:
    """A unit that may go out, the first moment it may leave its yard."""

    number: str
    set_code: str
    yard: str
    free_from: datetime


@dataclass(frozen=True, slots=True)
class YardRow:
    """A yard with its trucks; some are under way for the plan in force till ``back_at``."""

    code: str
    name: str
    latitude_deg: float
    longitude_deg: float
    trucks: int
    back_at: tuple[datetime, ...] = ()


@dataclass(frozen=True, slots=True)
class CombinedRow:
    """Needs near each other that one option serves together."""

    keys: tuple[str, ...]
    options: tuple[Option, ...]


@dataclass(frozen=True, slots=True)
class ChoiceRow:
    """A rep's word: this unit must, or must not, serve this need."""

    key: str
    unit: str
    pinned: bool
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Roads:
    """How time and distance are counted."""

    slot_h: float = 0.5
    horizon_h: float = 24.0
    hookup_h: float = 1.0
    road_km_h: float = 40.0


@dataclass(frozen=True, slots=True)
class Situation:
    """All that a plan depends on. ``before`` maps a need to the one unit it has in force."""

    now: datetime
    needs: tuple[NeedRow, ...]
    units: tuple[UnitRow, ...]
    yards: tuple[YardRow, ...]
    combined: tuple[CombinedRow, ...] = ()
    choices: tuple[ChoiceRow, ...] = ()
    before: Mapping[str, str] = field(default_factory=dict)
    roads: Roads = Roads()


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A need, or a rep's choice, that is not part of the problem, and why."""

    key: str
    why: str


@dataclass(frozen=True, slots=True)
class Asked:
    """The problem, the needs that were kept out of it, and the choices that cannot be kept."""

    problem: Problem
    left_out: tuple[LeftOut, ...]
    choices_dropped: tuple[LeftOut, ...]


def asked(situation: Situation) -> Asked:
    """The allocation problem of a situation.

    A need that waits for a person, or whose place is not known, is left out with its reason. A pin
    that cannot be kept (the unit is gone, or fails the need's checks) is left out as well: the
    checks come before any person's wish.
    """
    needs, left_out = _split(situation.needs)
    pinned, dropped = _pins(situation, {row.key: row for row in needs})
    keys = {row.key for row in needs}
    bans = frozenset((c.key, c.unit) for c in situation.choices if not c.pinned and c.key in keys)
    there = {unit.number for unit in situation.units}
    problem = Problem(
        sites=tuple(_site(row, situation.now) for row in needs),
        demands=(*_demands(needs), *_joint_demands(situation.combined, keys)),
        yards=tuple(_yard(row, situation.now) for row in situation.yards),
        stocks=_stocks(situation),
        slot_h=situation.roads.slot_h,
        horizon_h=situation.roads.horizon_h,
        hookup_h=situation.roads.hookup_h,
        road_km_h=situation.roads.road_km_h,
        pinned=pinned,
        forbidden=bans,
        before={k: u for k, u in situation.before.items() if k in keys and u in there},
    )
    return Asked(problem, left_out, dropped)


def hours(moment: datetime, start: datetime) -> float:
    """Hours from the start of the plan; less than zero where it is over."""
    return (moment - start).total_seconds() / 3600


def at_hour(start: datetime, hour: float) -> datetime:
    """The moment of an hour of the plan."""
    return start + timedelta(seconds=round(hour * 3600))


def _split(rows: Iterable[NeedRow]) -> tuple[list[NeedRow], tuple[LeftOut, ...]]:
    inside: list[NeedRow] = []
    left_out: list[LeftOut] = []
    for row in rows:
        if row.waits:
            left_out.append(LeftOut(row.key, row.waits))
        elif row.latitude_deg is None or row.longitude_deg is None:
            why = "Its place is not known: give its ZIP or its coordinates, then plan again."
            left_out.append(LeftOut(row.key, why))
        else:
            inside.append(row)
    return inside, tuple(left_out)


def _pins(
    situation: Situation, needs: Mapping[str, NeedRow]
) -> tuple[dict[str, str], tuple[LeftOut, ...]]:
    """Pins that can be kept, and the others with what stands in the way."""
    codes = {unit.number: unit.set_code for unit in situation.units}
    pinned: dict[str, str] = {}
    dropped: list[LeftOut] = []
    for choice in situation.choices:
        if not choice.pinned or choice.key not in needs:
            continue
        why = _pin_refused(choice, codes, needs[choice.key], set(pinned.values()))
        if why:
            dropped.append(LeftOut(choice.key, why))
        else:
            pinned[choice.key] = choice.unit
    return pinned, tuple(dropped)


def _pin_refused(
    choice: ChoiceRow, codes: Mapping[str, str], need: NeedRow, taken: set[str]
) -> str:
    if choice.unit not in codes:
        return f"{choice.unit} was pinned to {need.name}, but it is not free."
    if choice.unit in taken:
        return f"{choice.unit} was pinned to {need.name}, but it is pinned to another need."
    singles = {option.set_code for option in need.options if option.count == 1}
    if codes[choice.unit] not in singles:
        return (
            f"{choice.unit} was pinned to {need.name}, but one {codes[choice.unit]} does not pass "
            "every check there."
        )
    return ""


def _site(row: NeedRow, now: datetime) -> Site:
    assert row.latitude_deg is not None
    assert row.longitude_deg is not None
    return Site(row.key, row.rank, hours(row.need_by, now), row.latitude_deg, row.longitude_deg)


def _demands(needs: Iterable[NeedRow]) -> list[Demand]:
    return [Demand((row.key,), row.options) for row in needs]


def _joint_demands(combined: Iterable[CombinedRow], keys: set[str]) -> list[Demand]:
    """Joint demands of needs that are all in the problem."""
    return [Demand(row.keys, row.options) for row in combined if set(row.keys) <= keys]


def _yard(row: YardRow, now: datetime) -> Yard:
    """A yard with the trucks that are in it, and the hours in which the others are back."""
    back_h = tuple(sorted(hours(at, now) for at in row.back_at))
    here = row.trucks - len(back_h)
    back_h = back_h[max(0, -here) :]  # a yard may have parted with trucks meanwhile
    return Yard(row.code, row.latitude_deg, row.longitude_deg, max(0, here), back_h)


def _stocks(situation: Situation) -> tuple[Stock, ...]:
    """Units of one type, yard and hour together."""
    alike: dict[tuple[str, str, float], list[str]] = {}
    for unit in situation.units:
        free_h = max(0.0, hours(unit.free_from, situation.now))
        alike.setdefault((unit.yard, unit.set_code, free_h), []).append(unit.number)
    return tuple(
        Stock(yard, code, tuple(sorted(units)), free_h)
        for (yard, code, free_h), units in sorted(alike.items())
    )
