"""What could be done, as two kinds of choices: who gets what, and which trip leaves when.

*Gifts* say which like sets of which yard serve a demand; *trips* say from which yard and in which
slot they leave. Lateness and trucks depend on the trip alone, fitness and stock on the gift alone,
so the two are kept apart and tied by rows: far fewer columns than their product, and no plan lost.

Sets of one type in one yard, free at one time, are interchangeable as long as nobody pinned or
forbade one of them by name; those that were named stand alone. A site that has a set of such a
stock keeps it whenever it takes one of the stock at all: the names are dealt out afterwards, and
whoever had one gets it back. Only a set that several sites have together is told apart as well,
since no more than one of them may keep it where they part.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

from quotes.emergency.allocation.problem import Demand, Option, Problem, Stock


@dataclass(frozen=True, slots=True)
class Gift:
    """One option of a demand met from the stocks of one yard; ``trip_set`` ties it to its trips.

    ``stocks`` names one stock for each set. ``kept`` counts the sites that keep the set of the plan
    in force.
    """

    demand: int
    option: Option
    stocks: tuple[int, ...]
    kept: int
    trip_set: tuple[int, str, int]  # (demand, yard, count of sets)
    first_slot: int


@dataclass(frozen=True, slots=True)
class Trip:
    """``count`` sets leaving one yard for one demand in one slot; ``away`` slots of the trucks."""

    trip_set: tuple[int, str, int]
    slot: int
    away: int
    arrive_h: float
    late_h: float
    distance_km: float


def split_stocks(problem: Problem) -> tuple[Stock, ...]:
    """Stocks with every unit that somebody named standing alone, the rest together."""
    shared = {unit for unit, sites in Counter(problem.before.values()).items() if sites > 1}
    named = set(problem.pinned.values()) | {unit for _, unit in problem.forbidden} | shared
    found: list[Stock] = []
    for stock in problem.stocks:
        alone = [unit for unit in stock.units if unit in named]
        rest = tuple(unit for unit in stock.units if unit not in named)
        found += [Stock(stock.yard, stock.set_code, (u,), stock.free_from_h) for u in alone]
        if rest:
            found.append(Stock(stock.yard, stock.set_code, rest, stock.free_from_h))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Taking:
    """One way to take like sets from one yard."""

    stocks: tuple[int, ...]
    names: frozenset[str]
    yard: str
    first_slot: int
    units: tuple[tuple[frozenset[str], int], ...]  # of each stock, and how many are taken

    def kept(self, had: Sequence[str]) -> int:
        """How many sites keep their set, where their sets were these."""
        found = 0
        for units, times in self.units:
            sites = Counter(unit for unit in had if unit in units)
            found += sum(count for _unit, count in sites.most_common(times))
        return found


def gifts(problem: Problem, stocks: tuple[Stock, ...]) -> list[Gift]:
    """Every option of every demand from every stock that may serve it."""
    ways = _Ways(problem, stocks)
    found: list[Gift] = []
    for number, demand in enumerate(problem.demands):
        pins, barred = _named(problem, demand)
        had = [problem.before[key] for key in demand.sites if key in problem.before]
        for option in demand.options:
            for taken in ways.of(option.set_code, option.count):
                if pins <= taken.names and taken.names.isdisjoint(barred):
                    trip_set = (number, taken.yard, option.count)
                    kept = taken.kept(had)
                    found.append(
                        Gift(number, option, taken.stocks, kept, trip_set, taken.first_slot)
                    )
    return found


class _Ways:
    """Every way to take some like sets from one yard, worked out once for each type and count."""

    def __init__(self, problem: Problem, stocks: tuple[Stock, ...]) -> None:
        self.problem, self.stocks = problem, stocks
        self.alike: dict[str, dict[str, list[int]]] = {}
        for index, stock in enumerate(stocks):
            self.alike.setdefault(stock.set_code, {}).setdefault(stock.yard, []).append(index)
        self.known: dict[tuple[str, int], list[_Taking]] = {}

    def of(self, set_code: str, count: int) -> list[_Taking]:
        if (set_code, count) not in self.known:
            self.known[set_code, count] = [
                self._taking(taken)
                for in_yard in self.alike.get(set_code, {}).values()
                for taken in combinations_with_replacement(in_yard, count)
                if all(len(self.stocks[i].units) >= n for i, n in Counter(taken).items())
            ]
        return self.known[set_code, count]

    def _taking(self, taken: tuple[int, ...]) -> _Taking:
        own = [self.stocks[index] for index in taken]
        names = frozenset(unit for stock in own for unit in stock.units)
        free_h = max(stock.free_from_h for stock in own)
        first = max(0, math.ceil(free_h / self.problem.slot_h - 1e-9))
        of_each = tuple((frozenset(self.stocks[i].units), n) for i, n in Counter(taken).items())
        return _Taking(taken, names, own[0].yard, first, of_each)


def _named(problem: Problem, demand: Demand) -> tuple[set[str], set[str]]:
    """Units that must serve this demand and units that may not; a unit twice pinned serves one."""
    pins = {problem.pinned[key] for key in demand.sites if key in problem.pinned}
    wanted_elsewhere = {unit for site, unit in problem.pinned.items() if site not in demand.sites}
    banned = {unit for site, unit in problem.forbidden if site in demand.sites}
    return pins, (wanted_elsewhere - pins) | banned


@dataclass(frozen=True, slots=True)
class Route:
    """A trip without its hour. ``last_slot`` is the last to leave in; -1 or less where none is."""

    trip_set: tuple[int, str, int]
    travel_h: float
    distance_km: float  # of one truck, one way
    away: int
    last_slot: int


class Driving:
    """How the trips of a problem are driven."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.sites = {site.key: site for site in problem.sites}
        self.yards = {yard.key: yard for yard in problem.yards}

    def route(self, trip_set: tuple[int, str, int]) -> Route:
        """The route of a trip set: to the first of its sites and back."""
        problem, (number, yard_key, _) = self.problem, trip_set
        place = self.sites[problem.demands[number].sites[0]]
        distance_km = problem.distance_km(self.yards[yard_key], place)
        travel_h = distance_km / problem.road_km_h
        last = (problem.horizon_h - travel_h - problem.hookup_h) / problem.slot_h
        away = (2 * travel_h + problem.hookup_h) / problem.slot_h
        return Route(
            trip_set,
            travel_h,
            distance_km,
            away=max(1, math.ceil(away - 1e-9)),
            last_slot=math.floor(last + 1e-9),
        )

    def trip(self, route: Route, slot: int) -> Trip:
        """The trip of a route that leaves in one slot."""
        problem = self.problem
        arrive_h = slot * problem.slot_h + route.travel_h + problem.hookup_h
        places = [self.sites[key] for key in problem.demands[route.trip_set[0]].sites]
        late_h = sum(max(0.0, arrive_h - place.need_by_h) for place in places)
        distance_km = route.distance_km * route.trip_set[2]
        return Trip(route.trip_set, slot, route.away, arrive_h, late_h, distance_km)


def trips(problem: Problem, found: list[Gift]) -> list[Trip]:
    """Every departure that still arrives within the horizon, for every trip set of the gifts."""
    earliest: dict[tuple[int, str, int], int] = {}
    for gift in found:
        earliest[gift.trip_set] = min(gift.first_slot, earliest.get(gift.trip_set, gift.first_slot))
    driving, made = Driving(problem), []
    for trip_set, first in earliest.items():
        route = driving.route(trip_set)
        made += [driving.trip(route, slot) for slot in range(first, route.last_slot + 1)]
    return made
