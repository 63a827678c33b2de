"""Refuel rounds: which sites a round must visit, between which minutes, and what level is left.

Pure: minutes count from the start of the plan, fuel is in litres. A round is one working day of the
fuel trucks. Before each round every site is asked whether its tank lasts until the next can reach
it; where it does not, visits are set between the earliest minute that carries it over and the
latest minute before it falls to its reserve.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

MOST_VISITS = 12  # of one site in one round
ROOM_MIN = 60  # a window narrower than this is widened by one more visit, where that helps
FAR = 10**7


@dataclass(frozen=True, slots=True)
class FuelSite:
    """A running set. ``level_l`` is in its tank at ``starts_min``; it runs until ``ends_min``."""

    key: str
    name: str
    rank: int
    latitude_deg: float
    longitude_deg: float
    burn_l_h: float
    tank_l: float
    level_l: float
    starts_min: int = 0
    ends_min: int = FAR
    unusable_l: float = 0.0  # what its pickup cannot reach, by the set's record


@dataclass(frozen=True, slots=True)
class FuelTruck:
    """A fuel truck and the yard where it loads, starts and ends."""

    key: str
    yard: str
    latitude_deg: float
    longitude_deg: float
    capacity_l: int


@dataclass(frozen=True, slots=True)
class Round:
    """One working day of the trucks, from its first to its last minute."""

    number: int
    first_min: int
    last_min: int


@dataclass(frozen=True, slots=True)
class FuelProblem:
    """Sites, trucks and rounds, and how fast things go.

    ``reserve_share`` of a tank is never burnt: below it a diesel may draw air and dirt. Pumping,
    time at a site and at the loading rack: common practice, no source.
    """

    sites: tuple[FuelSite, ...]
    trucks: tuple[FuelTruck, ...]
    rounds: tuple[Round, ...]
    reserve_share: float = 0.15
    pump_l_min: float = 100.0
    at_site_min: int = 15
    load_min: int = 30
    road_km_h: float = 55.0
    road_factor: float = 1.3

    def reserve_l(self, site: FuelSite) -> float:
        return max(self.reserve_share * site.tank_l, site.unusable_l)

    def usable_l(self, site: FuelSite) -> float:
        """What one visit is sure to be good for: a truck's load, or the tank above its reserve."""
        smallest = min((truck.capacity_l for truck in self.trucks), default=0)
        return min(site.tank_l - self.reserve_l(site), float(smallest))


@dataclass(frozen=True, slots=True)
class Visit:
    """A visit a site must have in a round; ``planned_l`` is the most that it can take."""

    site: int
    early_min: int
    late_min: int
    planned_l: int


def level_at(site: FuelSite, level_l: float, since_min: float, at_min: float) -> float:
    """What is left in the tank; it does not fall before the set runs nor once it has stopped."""
    began, ended = max(since_min, site.starts_min), min(at_min, site.ends_min)
    return max(0.0, level_l - site.burn_l_h / 60 * max(0.0, ended - began))


def falls_to(site: FuelSite, level_l: float, since_min: float, to_l: float) -> float:
    """The minute in which the tank falls to a level; infinite where the set stops before."""
    if site.burn_l_h <= 0:
        return math.inf
    began = max(since_min, site.starts_min)
    at_min = began + max(0.0, level_l - to_l) / site.burn_l_h * 60
    return at_min if at_min < site.ends_min else math.inf


def visits_of(
    problem: FuelProblem, number: int, level_l: float, this: Round, until_min: float
) -> list[Visit]:
    """The visits that carry one site from this round to ``until_min``, as few as do it well."""
    site = problem.sites[number]
    if site.starts_min >= this.last_min or site.ends_min <= this.first_min or site.burn_l_h <= 0:
        return []
    reserve = problem.reserve_l(site)
    first = max(this.first_min, site.starts_min)
    deadline = falls_to(site, level_l, this.first_min, reserve)
    until = min(until_min, float(site.ends_min))
    if deadline >= until:
        return []
    lasts = _lasts(problem, site)
    until = min(until, this.last_min - ROOM_MIN + lasts)  # a night longer than the tank is named
    windows = _windows(first, this.last_min, deadline, until, lasts)
    return [
        Visit(number, early, late, _planned(problem, site, level_l, this, windows, index))
        for index, (early, late) in enumerate(windows)
    ]


def _lasts(problem: FuelProblem, site: FuelSite) -> float:
    """Minutes that one visit is sure to be good for."""
    return problem.usable_l(site) / site.burn_l_h * 60


def _windows(
    first: int, last: int, deadline: float, until: float, lasts: float
) -> list[tuple[int, int]]:
    """Windows of the fewest visits that leave room to move; the best there are where none do."""
    best: list[tuple[int, int]] = []
    for count in range(1, MOST_VISITS + 1):
        found = _chain(first, last, deadline, until, lasts, count)
        if _room(found) > _room(best) or not best:
            best = found
        if _room(found) >= ROOM_MIN:
            break
    return [(min(early, last), max(min(early, last), late)) for early, late in best]


def _room(windows: list[tuple[int, int]]) -> int:
    return min((late - early for early, late in windows), default=-FAR)


def _chain(
    first: int, last: int, deadline: float, until: float, lasts: float, count: int
) -> list[tuple[int, int]]:
    """``count`` windows one after the other, each open as long as the slack there is allows."""
    if count == 1:
        return [(max(first, math.ceil(until - lasts)), min(last, math.floor(deadline)))]
    slack = (deadline + count * lasts - until) / count
    start = max(float(first), deadline - min(slack, lasts / 2))
    room = min((start + count * lasts - until) / (count - 1), lasts / 2)
    step = min(lasts - room, (last - start) / (count - 1))
    early = [math.ceil(start + index * step) for index in range(count)]
    ends = [deadline, *(before + lasts for before in early[:-1])]
    following = [*early[1:], last]
    return [
        (begins, min(last, math.floor(ends[index]), following[index]))
        for index, begins in enumerate(early)
    ]


def _planned(
    problem: FuelProblem,
    site: FuelSite,
    level_l: float,
    this: Round,
    windows: list[tuple[int, int]],
    index: int,
) -> int:
    """The most a visit can take: the last minute of its window, after the first of the one before.

    Rounded up to whole litres, and never more than a truck carries.
    """
    _, late = windows[index]
    if index == 0:
        left = level_at(site, level_l, this.first_min, late)
    else:
        after_l = problem.reserve_l(site) + problem.usable_l(site)
        left = level_at(site, after_l, windows[index - 1][0], late)
    capacity = min(truck.capacity_l for truck in problem.trucks)
    return min(math.ceil(site.tank_l - left), capacity)
