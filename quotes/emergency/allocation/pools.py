"""How much can be served at most: all sets of a type in one pool, no trucks, no kilometres.

Any plan stays one when it is told from which pool a set comes instead of from which stock, and when
trucks are no longer counted; so what the pools can serve at most, no plan exceeds. HiGHS proves it
in whole numbers, or states its own bound where time runs out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import highspy
import numpy as np

from quotes.emergency.allocation.grid import Floats, Grid
from quotes.emergency.allocation.problem import Problem, Stock
from quotes.emergency.allocation.programme import Solver

Pool = tuple[str, str]  # type, and the unit's name where somebody named it
SLACK = 1e-6


class Pools:
    """The programme of the pools; goals are bounded and held one after the other."""

    def __init__(self, problem: Problem, stocks: Sequence[Stock], grid: Grid) -> None:
        named = {*problem.pinned.values(), *(unit for _, unit in problem.forbidden)}
        pool_of = [_pool(stock, named) for stock in stocks]
        self.gift_of: list[int] = []  # one gift for each column: all of them serve alike
        known: dict[tuple[int, float, tuple[Pool, ...]], int] = {}
        for index, gift in enumerate(grid.given):
            pools = tuple(sorted(pool_of[stock] for stock in gift.stocks))
            if known.setdefault((gift.demand, gift.option.share, pools), index) == index:
                self.gift_of.append(index)
        self.demands = grid.demand[self.gift_of]
        units: defaultdict[Pool, int] = defaultdict(int)
        for stock, pool in zip(stocks, pool_of, strict=True):
            units[pool] += len(stock.units)
        self.solver = self._solver(grid, pool_of, units)

    def _solver(self, grid: Grid, pool_of: list[Pool], units: dict[Pool, int]) -> highspy.Highs:
        rows = {pool: n for n, pool in enumerate(units, start=grid.site_count)}
        solver = Solver()
        high = np.array([1.0] * grid.site_count + [float(n) for n in units.values()])
        none = np.array([], dtype=np.int32)
        low = np.full(len(high), -highspy.kHighsInf)
        solver.addRows(len(high), low, high, 0, none, none, np.array([]))
        for index in self.gift_of:
            entries: defaultdict[int, float] = defaultdict(float)
            for site in grid.sites[grid.demand[index]]:
                if site < grid.site_count:
                    entries[int(site)] = 1.0
            for stock in grid.given[index].stocks:
                entries[rows[pool_of[stock]]] += 1.0
            at = np.array(list(entries), dtype=np.int32)
            solver.addCol(0.0, 0.0, 1.0, len(at), at, np.array(list(entries.values())))
        count = len(self.gift_of)
        kinds = np.full(count, highspy.HighsVarType.kInteger.value, dtype=np.uint8)
        solver.changeColsIntegrality(count, np.arange(count, dtype=np.int32), kinds)
        solver.setOptionValue("mip_rel_gap", 0.0)
        return solver

    def least(self, costs: Floats, seconds: float) -> float:
        """What this goal costs at least in any plan that keeps the goals held."""
        own = costs[self.gift_of]
        self.solver.changeColsCost(len(own), np.arange(len(own), dtype=np.int32), own)
        self.solver.setOptionValue("time_limit", self.solver.getRunTime() + max(0.2, seconds))
        self.solver.run()
        bound = float(self.solver.getInfo().mip_dual_bound)
        plain = self._plain(own)
        return max(bound, plain) if np.isfinite(bound) else plain

    def _plain(self, own: Floats) -> float:
        """Every demand at its best: a bound that takes no time."""
        least = np.zeros(int(self.demands.max()) + 1)
        np.minimum.at(least, self.demands, own)
        return float(least.sum())

    def hold(self, costs: Floats, value: float) -> None:
        """From now on this goal costs no more than ``value``."""
        own = costs[self.gift_of]
        used = np.nonzero(own)[0].astype(np.int32)
        high = value + SLACK * max(1.0, abs(value))
        self.solver.addRow(-highspy.kHighsInf, high, len(used), used, own[used])


def _pool(stock: Stock, named: set[str]) -> Pool:
    (first, *_) = stock.units
    return (stock.set_code, first if first in named else "")
