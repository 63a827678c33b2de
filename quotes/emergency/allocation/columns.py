"""What could be done, as two kinds of choices: who gets what, and which trip leaves when.

*Gifts* say which like sets of which yard serve a demand; *trips* say from which yard and in which
slot they leave. Lateness and trucks depend on the trip alone, fitness and stock on the gift alone,
so the two are kept apart and tied by rows: far fewer columns than their product, and no plan lost.

Sets of one type in one yard, free at one time, are interchangeable as long as nobody pinned,
forbade or already planned one of them by name; those that were named stand alone.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations_with_replacement

from quotes.emergency.allocation.problem import Demand, Option, Problem, Site, Stock, Yard


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
    named = (
        set(problem.pinned.values())
        | {unit for _, unit in problem.forbidden}
        | set(problem.before.values())
    )
    found: list[Stock] = []
    for stock in problem.stocks:
        alone = [unit for unit in stock.units if unit in named]
        rest = tuple(unit for unit in stock.units if unit not in named)
        found += [Stock(stock.yard, stock.set_code, (u,), stock.free_from_h) for u in alone]
        if rest:
            found.append(Stock(stock.yard, stock.set_code, rest, stock.free_from_h))
    return tuple(found)


def gifts(problem: Problem, stocks: tuple[Stock, ...]) -> list[Gift]:
    """Every option of every demand from every stock that may serve it."""
    alike: dict[str, dict[str, list[int]]] = {}
    for index, stock in enumerate(stocks):
        alike.setdefault(stock.set_code, {}).setdefault(stock.yard, []).append(index)
    found: list[Gift] = []
    for number, demand in enumerate(problem.demands):
        pins, barred = _named(problem, demand)
        for option in demand.options:
            for in_yard in alike.get(option.set_code, {}).values():
                for taken in _takings(stocks, in_yard, option.count):
                    names = {unit for index in taken for unit in stocks[index].units}
                    if pins <= names and not names & barred:
                        found.append(_gift(problem, number, option, stocks, taken))
    return found


def _takings(
    stocks: tuple[Stock, ...], in_yard: list[int], count: int
) -> Iterator[tuple[int, ...]]:
    """Every way to take ``count`` like sets from the stocks of one yard."""
    for taken in combinations_with_replacement(in_yard, count):
        if all(len(stocks[index].units) >= times for index, times in Counter(taken).items()):
            yield taken


def _gift(
    problem: Problem, number: int, option: Option, stocks: tuple[Stock, ...], taken: tuple[int, ...]
) -> Gift:
    names = {unit for index in taken for unit in stocks[index].units}
    kept = sum(problem.before.get(key) in names for key in problem.demands[number].sites)
    free_h = max(stocks[index].free_from_h for index in taken)
    first = max(0, math.ceil(free_h / problem.slot_h - 1e-9))
    return Gift(number, option, taken, kept, (number, stocks[taken[0]].yard, option.count), first)


def _named(problem: Problem, demand: Demand) -> tuple[set[str], set[str]]:
    """Units that must serve this demand and units that may not; a unit twice pinned serves one."""
    pins = {problem.pinned[key] for key in demand.sites if key in problem.pinned}
    wanted_elsewhere = {unit for site, unit in problem.pinned.items() if site not in demand.sites}
    banned = {unit for site, unit in problem.forbidden if site in demand.sites}
    return pins, (wanted_elsewhere - pins) | banned


def in_time(found: list[Gift], made: list[Trip]) -> list[Gift]:
    """The gifts with a trip that leaves when their sets are free and arrives within the horizon."""
    last: dict[tuple[int, str, int], int] = {}
    for trip in made:
        last[trip.trip_set] = max(trip.slot, last.get(trip.trip_set, trip.slot))
    return [gift for gift in found if gift.first_slot <= last.get(gift.trip_set, -1)]


def trips(problem: Problem, found: list[Gift]) -> list[Trip]:
    """Every departure that still arrives within the horizon, for every trip set of the gifts."""
    sites = {site.key: site for site in problem.sites}
    yards = {yard.key: yard for yard in problem.yards}
    earliest: dict[tuple[int, str, int], int] = {}
    for gift in found:
        earliest[gift.trip_set] = min(gift.first_slot, earliest.get(gift.trip_set, gift.first_slot))
    made: list[Trip] = []
    for trip_set, first in earliest.items():
        places = [sites[key] for key in problem.demands[trip_set[0]].sites]
        made += _departures(problem, trip_set, first, yards[trip_set[1]], places)
    return made


def _departures(
    problem: Problem,
    trip_set: tuple[int, str, int],
    first: int,
    yard: Yard,
    places: list[Site],
) -> list[Trip]:
    distance_km = problem.distance_km(yard, places[0])
    travel_h = distance_km / problem.road_km_h
    last = math.floor((problem.horizon_h - travel_h - problem.hookup_h) / problem.slot_h + 1e-9)
    away = max(1, math.ceil((2 * travel_h + problem.hookup_h) / problem.slot_h - 1e-9))
    found = []
    for slot in range(first, last + 1):
        arrive_h = slot * problem.slot_h + travel_h + problem.hookup_h
        late_h = sum(max(0.0, arrive_h - place.need_by_h) for place in places)
        found.append(Trip(trip_set, slot, away, arrive_h, late_h, distance_km * trip_set[2]))
    return found
