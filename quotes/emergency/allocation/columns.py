"""What could be done, as two kinds of choices: who gets what, and which trip leaves when.

*Gifts* say which like sets of which yard serve a demand; *trips* say from which yard and in which
slot they leave. Lateness and trucks depend on the trip alone, fitness and stock on the gift alone,
so the two are kept apart and tied by rows: far fewer columns than their product, and no plan lost.

Sets of one type in one yard, free at one time, are interchangeable as long as nobody pinned,
forbade or already planned one of them by name; those that were named stand alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from quotes.emergency.allocation.problem import Demand, Option, Problem, Site, Stock, Yard


@dataclass(frozen=True, slots=True)
class Gift:
    """One option of a demand met from one stock; ``trip_set`` ties it to its trips."""

    demand: int
    option: Option
    stock: int
    changes: int
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
    by_code: dict[str, list[int]] = {}
    for index, stock in enumerate(stocks):
        by_code.setdefault(stock.set_code, []).append(index)
    found: list[Gift] = []
    for number, demand in enumerate(problem.demands):
        for option in demand.options:
            for index in by_code.get(option.set_code, ()):
                stock = stocks[index]
                if len(stock.units) >= option.count and _allowed(problem, demand, stock):
                    found.append(_gift(problem, number, demand, option, index, stock))
    return found


def _gift(
    problem: Problem, number: int, demand: Demand, option: Option, index: int, stock: Stock
) -> Gift:
    changes = sum(
        1
        for key in demand.sites
        if key in problem.before and problem.before[key] not in stock.units
    )
    first = math.ceil(stock.free_from_h / problem.slot_h - 1e-9)
    return Gift(number, option, index, changes, (number, stock.yard, option.count), first)


def _allowed(problem: Problem, demand: Demand, stock: Stock) -> bool:
    """Whether pins and bans let this stock serve this demand."""
    pins = {problem.pinned[key] for key in demand.sites if key in problem.pinned}
    if pins and not pins <= set(stock.units):
        return False
    wanted_elsewhere = {unit for site, unit in problem.pinned.items() if site not in demand.sites}
    banned = {unit for site, unit in problem.forbidden if site in demand.sites}
    return not set(stock.units) & (wanted_elsewhere | banned)


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
