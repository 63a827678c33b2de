"""What could be done in a large plan, as arrays: no object for each of a million departures.

Gifts stand in the order of their demands. A *route* is what a trip depends on besides its hour:
demand, yard and count of sets. A *column* is a gift together with the slot in which it leaves; its
number is ``gift * slots + slot``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quotes.emergency.allocation.columns import Driving, Gift, Route
from quotes.emergency.allocation.problem import Problem, Stock

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Routes:
    """One entry a route; ``late_h[route, slot]`` is infinite where the trip would be too late."""

    yard: Whole
    count: Whole
    away: Whole  # slots a truck is gone
    distance_km: Floats  # of all its sets together
    late_h: Floats


@dataclass(frozen=True, slots=True)
class Limits:
    """What there is of everything scarce: one of each site, units by stock, trucks by yard."""

    stocks: Floats
    trucks: Floats  # [yard, slot]


@dataclass(frozen=True, slots=True)
class Grid:
    """Everything that could be done. Rows of ``stocks``, ``times`` and ``sites`` are padded."""

    given: Sequence[Gift]
    demand: Whole
    route: Whole
    first: Whole  # the first slot in which the sets of a gift are free
    stocks: Whole  # [gift, n]: the stocks taken from
    times: Floats  # [gift, n]: how many of each, 0 where padded
    sites: Whole  # [demand, n]: the sites served, padded with the number of sites
    routes: Routes
    limits: Limits
    site_count: int

    @property
    def count(self) -> int:
        """How many gifts."""
        return len(self.demand)

    @property
    def slots(self) -> int:
        """How many slots a trip may leave in."""
        return int(self.routes.late_h.shape[1])

    @property
    def truck_slots(self) -> int:
        """How many slots a truck may be away in."""
        return int(self.limits.trucks.shape[1])

    def gift_of(self, columns: Whole) -> Whole:
        return columns // self.slots

    def slot_of(self, columns: Whole) -> Whole:
        return columns % self.slots


def grid_of(problem: Problem, stocks: Sequence[Stock], found: Sequence[Gift]) -> Grid | None:
    """The arrays of these gifts; ``None`` where no trip of any arrives within the horizon."""
    driving = Driving(problem)
    routes = {t: driving.route(t) for t in dict.fromkeys(gift.trip_set for gift in found)}
    given = [gift for gift in found if gift.first_slot <= routes[gift.trip_set].last_slot]
    if not given:
        return None
    used = {t: n for n, t in enumerate(dict.fromkeys(gift.trip_set for gift in given))}
    kinds = list(dict.fromkeys(gift.stocks for gift in given))
    at = {kind: n for n, kind in enumerate(kinds)}
    kind_of = np.array([at[gift.stocks] for gift in given], dtype=np.int64)
    taken, times = _padded([sorted(set(kind)) for kind in kinds], 0)
    for row, kind in enumerate(kinds):
        times[row, : len(set(kind))] = [kind.count(stock) for stock in sorted(set(kind))]
    number = {site.key: n for n, site in enumerate(problem.sites)}
    sites, _ = _padded([[number[k] for k in d.sites] for d in problem.demands], len(number))
    found_routes = _routes(problem, [routes[t] for t in used])
    slots = found_routes.late_h.shape[1] + int(found_routes.away.max())
    return Grid(
        given=given,
        demand=np.array([gift.demand for gift in given], dtype=np.int64),
        route=np.array([used[gift.trip_set] for gift in given], dtype=np.int64),
        first=np.array([gift.first_slot for gift in given], dtype=np.int64),
        stocks=taken[kind_of],
        times=times[kind_of],
        sites=sites,
        routes=found_routes,
        limits=Limits(
            np.array([len(stock.units) for stock in stocks], dtype=np.float64),
            _trucks(problem, slots),
        ),
        site_count=len(number),
    )


def _trucks(problem: Problem, slots: int) -> Floats:
    count = [[problem.trucks_in(yard, slot) for slot in range(slots)] for yard in problem.yards]
    return np.array(count, dtype=np.float64)


def _padded(rows: Sequence[Sequence[int]], filler: int) -> tuple[Whole, Floats]:
    """Rows of unequal length as one array, and 1 where a row has an entry."""
    width = max(len(row) for row in rows)
    filled = np.full((len(rows), width), filler, dtype=np.int64)
    there = np.zeros((len(rows), width))
    for number, row in enumerate(rows):
        filled[number, : len(row)] = row
        there[number, : len(row)] = 1.0
    return filled, there


def _routes(problem: Problem, found: Sequence[Route]) -> Routes:
    yards = {yard.key: n for n, yard in enumerate(problem.yards)}
    needs, there = _needs(problem, found)
    last = np.array([route.last_slot for route in found])
    fixed_h = np.array([route.travel_h + problem.hookup_h for route in found])
    slots = np.arange(int(last.max()) + 1)
    arrive_h = slots[None, :] * problem.slot_h + fixed_h[:, None]
    late_h = np.zeros(arrive_h.shape)
    for place in range(needs.shape[1]):
        late_h += there[:, place, None] * np.maximum(0.0, arrive_h - needs[:, place, None])
    late_h[slots[None, :] > last[:, None]] = np.inf
    return Routes(
        yard=np.array([yards[route.trip_set[1]] for route in found], dtype=np.int64),
        count=np.array([route.trip_set[2] for route in found], dtype=np.int64),
        away=np.array([route.away for route in found], dtype=np.int64),
        distance_km=np.array([route.distance_km * route.trip_set[2] for route in found]),
        late_h=late_h,
    )


def _needs(problem: Problem, found: Sequence[Route]) -> tuple[Floats, Floats]:
    """When the sites of each route need power, in hours, and which entries are not padding."""
    need_h = np.array([site.need_by_h for site in problem.sites])
    number = {site.key: n for n, site in enumerate(problem.sites)}
    rows = [[number[key] for key in problem.demands[r.trip_set[0]].sites] for r in found]
    places, there = _padded(rows, 0)
    return need_h[places], there
