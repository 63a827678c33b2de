"""Every delivery that could be made: a demand, an option, like sets of one yard, a departure.

Sets of one type in one yard, free at one time, are interchangeable as long as nobody pinned, forbade
or already planned one of them by name; those that were named stand alone. This keeps the number of
columns small without leaving any plan out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from quotes.emergency.allocation.problem import Demand, Option, Problem, Site, Stock, Yard


@dataclass(frozen=True, slots=True)
class Column:
    """One possible delivery; ``slots`` are the time slots in which its trucks are away."""

    demand: int
    option: Option
    stock: int
    depart_h: float
    arrive_h: float
    late_h: float
    distance_km: float
    changes: int
    slots: tuple[int, ...]


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


def columns(problem: Problem, stocks: tuple[Stock, ...]) -> list[Column]:
    """All deliveries within the horizon, those a pin or a ban rules out left away."""
    sites = {site.key: site for site in problem.sites}
    yards = {yard.key: yard for yard in problem.yards}
    by_code: dict[str, list[int]] = {}
    for index, stock in enumerate(stocks):
        by_code.setdefault(stock.set_code, []).append(index)
    found: list[Column] = []
    for number, demand in enumerate(problem.demands):
        places = [sites[key] for key in demand.sites]
        for option in demand.options:
            for index in by_code.get(option.set_code, ()):
                stock = stocks[index]
                if len(stock.units) >= option.count and _allowed(problem, demand, stock):
                    yard = yards[stock.yard]
                    found += _departures(problem, number, option, index, stock, yard, places)
    return found


def _allowed(problem: Problem, demand: Demand, stock: Stock) -> bool:
    """Whether pins and bans let this stock serve this demand."""
    pins = {problem.pinned[key] for key in demand.sites if key in problem.pinned}
    if pins and not pins <= set(stock.units):
        return False
    wanted_elsewhere = {unit for site, unit in problem.pinned.items() if site not in demand.sites}
    banned = {unit for site, unit in problem.forbidden if site in demand.sites}
    return not set(stock.units) & (wanted_elsewhere | banned)


def _departures(
    problem: Problem,
    number: int,
    option: Option,
    index: int,
    stock: Stock,
    yard: Yard,
    places: list[Site],
) -> list[Column]:
    """One column a departure slot; waiting longer than the last need only costs, never helps."""
    distance_km = problem.distance_km(yard, places[0])
    travel_h = distance_km / problem.road_km_h
    changes = sum(
        1
        for place in places
        if place.key in problem.before and problem.before[place.key] not in stock.units
    )
    first = math.ceil(stock.free_from_h / problem.slot_h - 1e-9)
    last = math.floor((problem.horizon_h - travel_h - problem.hookup_h) / problem.slot_h + 1e-9)
    away = max(1, math.ceil((2 * travel_h + problem.hookup_h) / problem.slot_h - 1e-9))
    found = []
    for slot in range(first, last + 1):
        arrive_h = slot * problem.slot_h + travel_h + problem.hookup_h
        late_h = sum(max(0.0, arrive_h - place.need_by_h) for place in places)
        found.append(
            Column(
                demand=number,
                option=option,
                stock=index,
                depart_h=slot * problem.slot_h,
                arrive_h=arrive_h,
                late_h=late_h,
                distance_km=distance_km * option.count,
                changes=changes,
                slots=tuple(range(slot, slot + away)),
            )  # fmt: skip
        )
    return found
