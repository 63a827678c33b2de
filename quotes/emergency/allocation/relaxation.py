"""The relaxation of a large plan without whole numbers, solved over few columns at a time.

Column generation: the relaxation is solved over the columns open so far; the prices of its rows
tell which of the others would improve it. The prices looked at lie between those of the best bound
so far and the newest, which keeps them from swinging (Wentges, International Transactions in
Operational Research 4, 1997; cited from memory). Stopped at any time, the best bound holds.
"""

from __future__ import annotations

import time
from collections.abc import Sequence

import highspy
import numpy as np

from quotes.emergency.allocation.grid import Floats, Grid, Whole
from quotes.emergency.allocation.master import add, loaded, prices_of, row_limits
from quotes.emergency.allocation.prices import Cost, Held, Priced, Prices, priced

TOLERANCE = 1e-6
CLOSE = 1e-4  # the relaxation is solved where its value and its bound lie this near
STEADY = 0.6  # weight of the prices of the best bound
AT_ONCE = 2  # columns opened in one go, by demand


class Relaxation:
    """One goal's relaxation under way; ``bound`` and ``prices`` are the best so far."""

    def __init__(
        self, grid: Grid, cost: Cost, held: Sequence[Held], columns: Whole, prices: Prices
    ) -> None:
        self.grid, self.cost, self.held, self.prices = grid, cost, tuple(held), prices
        self.columns = np.unique(columns)
        self.taken: Floats = np.zeros(len(self.columns))
        self.found = priced(grid, cost, held, prices)
        self.solver = loaded(grid, cost, held, row_limits(grid, held), self.columns)

    @property
    def bound(self) -> float:
        return self.found.bound

    def solve(self, seconds: float) -> None:
        """Open columns until none would help or time is out."""
        until = time.monotonic() + seconds
        steady = STEADY
        while time.monotonic() < until and self._run(until):
            solution = self.solver.getSolution()
            self.taken = np.array(solution.col_value)
            newest = prices_of(self.grid, -np.array(solution.row_dual))
            wanted = self._look(self.prices.towards(newest, 1.0 - steady))
            if self._close() or not (len(wanted) or steady):
                break
            steady = STEADY if len(wanted) else 0.0
            add(self.solver, self.grid, self.cost, self.held, wanted)
            self.columns = np.concatenate([self.columns, wanted])
            self.taken = np.append(self.taken, np.zeros(len(wanted)))

    def _run(self, until: float) -> bool:
        left = max(0.2, until - time.monotonic())
        self.solver.setOptionValue("time_limit", self.solver.getRunTime() + left)
        self.solver.run()
        return bool(self.solver.getModelStatus() == highspy.HighsModelStatus.kOptimal)

    def _look(self, prices: Prices) -> Whole:
        """Keep these prices if they bound better; the columns not open that pay for themselves."""
        now = priced(self.grid, self.cost, self.held, prices)
        if now.bound > self.bound:
            self.found, self.prices = now, prices
        return np.setdiff1d(cheapest(self.grid, now, AT_ONCE, -TOLERANCE), self.columns)

    def _close(self) -> bool:
        value = float(self.solver.getInfo().objective_function_value)
        return value - self.bound < CLOSE * max(1.0, abs(value))

    def whole(self) -> Whole:
        """The columns that the relaxation takes whole."""
        return self.columns[self.taken > 1 - TOLERANCE]

    def parts(self) -> Whole:
        """The columns that the relaxation takes at least in part."""
        return self.columns[self.taken > TOLERANCE]

    def near(self, most: int) -> Whole:
        """What the relaxation takes, and the open columns that cost least more."""
        more = self.found.more(self.grid, self.columns)
        near = self.columns[np.argsort(more, kind="stable")[:most]]
        return np.union1d(self.parts(), near)


def cheapest(grid: Grid, found: Priced, each: int, below: float = np.inf) -> Whole:
    """The cheapest gifts of each demand, each with its best departure."""
    gifts = np.nonzero(found.gift < below)[0]
    order = gifts[np.lexsort((found.gift[gifts], grid.demand[gifts]))]
    demand = grid.demand[order]
    nth = np.arange(len(order)) - np.searchsorted(demand, demand)
    return found.departures(grid, order[nth < each])
