"""Bettering a large plan part by part: some neighbouring yards are planned anew, the rest stays."""

from __future__ import annotations

import time
from collections.abc import Sequence

import numpy as np

from quotes.emergency.allocation.grid import Floats, Grid, Mask, Whole
from quotes.emergency.allocation.master import search
from quotes.emergency.allocation.prices import Cost, Held, Priced
from quotes.emergency.allocation.relaxation import Relaxation

YARDS = 3  # planned together at first
COLUMNS = 1000  # of one search at first
MOST = 3000  # columns by yard of the widest search
WIDER = 1.5  # how much more is searched at once where nothing was won
EACH_SECONDS = 10.0


class Areas:
    """Planning area after area anew; the areas grow where a whole round won nothing."""

    def __init__(self, grid: Grid, apart: Floats) -> None:
        self.grid, self.apart = grid, apart
        self.yards, self.columns = float(YARDS), float(COLUMNS)
        self.turn, self.won = 0, 0.0

    def better(
        self, cost: Cost, held: Sequence[Held], relaxed: Relaxation, plan: Whole, enough: float,
        until: float,
    ) -> Whole:  # fmt: skip
        """Go on until time is out, the goal reaches ``enough``, or nothing more is won."""
        value = cost.total(self.grid, plan)
        while value > enough and time.monotonic() < until - 0.3:
            seconds = min(EACH_SECONDS, until - time.monotonic())
            plan = self._planned(cost, held, relaxed, plan, seconds)
            again = cost.total(self.grid, plan)
            self.won += value - again
            value = again
            if not self._turned():
                break
        return plan

    def _turned(self) -> bool:
        """Go on to the next yard; false where nothing wider is left to try."""
        self.turn += 1
        whole = self.yards >= len(self.apart)
        if self.turn < len(self.apart) and not whole:
            return True
        if self.won < 1e-6:
            if whole and self.columns > MOST * len(self.apart):
                return False
            self.yards, self.columns = self.yards * WIDER, self.columns * WIDER
        self.turn, self.won = 0, 0.0
        return True

    def _planned(
        self, cost: Cost, held: Sequence[Held], relaxed: Relaxation, plan: Whole, seconds: float
    ) -> Whole:
        """The plan with the area of the yard whose turn it is planned anew."""
        grid = self.grid
        yards = np.argsort(self.apart[self.turn], kind="stable")[: int(self.yards)]
        inside = np.isin(grid.routes.yard, yards)[grid.route]
        own = inside[grid.gift_of(plan)]
        loose, fixed = plan[own], plan[~own]
        loose_gifts = inside & _unserved(grid, fixed)[grid.demand]
        near = _near(grid, relaxed.found, np.nonzero(loose_gifts)[0], int(self.columns))
        parts = relaxed.parts()
        columns = np.union1d(near, parts[loose_gifts[grid.gift_of(parts)]])
        return np.union1d(fixed, search(grid, cost, held, columns, loose, fixed, seconds))


def _unserved(grid: Grid, plan: Whole) -> Mask:
    """The demands none of whose sites this plan serves."""
    served = np.zeros(grid.site_count + 1, dtype=bool)
    served[grid.sites[grid.demand[grid.gift_of(plan)]]] = True
    served[-1] = False
    return np.asarray(~served[grid.sites].any(axis=1))


def _near(grid: Grid, found: Priced, gifts: Whole, most: int) -> Whole:
    """The columns of these gifts that cost least more than their demand's best."""
    more = (found.gift - found.least)[gifts]
    gifts = gifts[np.argsort(more, kind="stable")][:most]
    costs = found.own[gifts, None] - found.least[gifts, None] + found.trip[grid.route[gifts]]
    costs[np.arange(grid.slots)[None, :] < grid.first[gifts][:, None]] = np.inf
    order = np.argsort(costs, axis=None, kind="stable")[:most]
    order = order[np.isfinite(costs.ravel()[order])]
    return np.asarray(gifts[order // grid.slots] * grid.slots + order % grid.slots)
