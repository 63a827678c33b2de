"""A first plan that no lack of time can take away: gifts dealt out one by one."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from quotes.emergency.allocation.grid import Floats, Grid, Whole
from quotes.emergency.allocation.problem import Problem


def ranks_first(problem: Problem, grid: Grid, cost: Floats, gifts: Whole) -> Whole:
    """These gifts in the order in which they choose: pins, then rank by rank, then by ``cost``."""
    rank = {site.key: 0 if site.key in problem.pinned else site.rank for site in problem.sites}
    first = np.array([min((rank[k] for k in d.sites), default=9) for d in problem.demands])
    return gifts[np.lexsort((cost[gifts], first[grid.demand[gifts]]))]


def scarce_first(grid: Grid) -> Floats:
    """The largest share first, then the demands with the fewest ways to be served, then near yards.

    Kilometres count for all sets together, so that one set goes before a pair.
    """
    ways = np.bincount(grid.demand)[grid.demand]
    share = np.array([gift.option.share for gift in grid.given])
    order = np.lexsort((grid.routes.distance_km[grid.route], ways, -share))
    return np.argsort(order).astype(np.float64)


def kept_first(grid: Grid) -> Floats:
    """Whoever keeps a set before all others of its rank, the rest as above."""
    kept = np.array([gift.kept for gift in grid.given])
    return np.asarray(scarce_first(grid) - grid.count * kept)


def dealt(grid: Grid, order: Iterable[int]) -> Whole:
    """Each gift in turn, in the first slot in which its yard has trucks, if all else is free."""
    left = grid.limits.stocks.copy()
    free = grid.limits.trucks.copy()
    served = np.zeros(grid.site_count + 1, dtype=bool)
    taken: list[int] = []
    for gift in map(int, order):
        sites = grid.sites[grid.demand[gift]]
        if served[sites].any() or (left[grid.stocks[gift]] < grid.times[gift]).any():
            continue
        slot = _first_free(grid, gift, free)
        if slot is None:
            continue
        route = grid.route[gift]
        away = int(grid.routes.away[route])
        free[grid.routes.yard[route], slot : slot + away] -= grid.routes.count[route]
        np.subtract.at(left, grid.stocks[gift], grid.times[gift])
        served[sites] = True
        served[-1] = False
        taken.append(gift * grid.slots + slot)
    return np.array(sorted(taken), dtype=np.int64)


def _first_free(grid: Grid, gift: int, free: Floats) -> int | None:
    route, routes = grid.route[gift], grid.routes
    away = int(routes.away[route])
    short = np.concatenate([[0], np.cumsum(free[routes.yard[route]] < routes.count[route])])
    slots = np.arange(int(grid.first[gift]), grid.slots)
    slots = slots[np.isfinite(routes.late_h[route, slots])]
    fits = slots[short[slots + away] == short[slots]]
    return int(fits[0]) if len(fits) else None
