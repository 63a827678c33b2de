"""A thin cover of HiGHS: binary columns, rows, and one goal held after another."""

from __future__ import annotations

from dataclasses import dataclass

import highspy
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
TOLERANCE = 1e-6


class Solver(highspy.Highs):
    """HiGHS that writes nothing anywhere."""

    def __init__(self) -> None:
        super().__init__()  # type: ignore[no-untyped-call]

    def enableCallbacks(self) -> None:  # noqa: N802
        """Called by the constructor, which would print a banner before any option can be set."""
        self.silent()
        super().enableCallbacks()  # type: ignore[no-untyped-call]


@dataclass(frozen=True, slots=True)
class Row:
    """low <= sum of weights times columns <= high; ``low`` is ``None`` where there is none."""

    low: float | None
    high: float
    entries: dict[int, float]


@dataclass(frozen=True, slots=True)
class Goal:
    """What one stage reached. ``gap_percent`` is 0 where the optimum is proven."""

    name: str
    value: float
    bound: float
    gap_percent: float


class Programme:
    """Binary columns and rows; ``improve`` makes one goal as good as can be and holds it there."""

    def __init__(self, count: int, found: list[Row]) -> None:
        self.values: Floats = np.zeros(count)
        self.solver = Solver()
        self.solver.setOptionValue("threads", 2)
        self.solver.setOptionValue("mip_rel_gap", 0.0)
        self.solver.addVars(count, np.zeros(count), np.ones(count))
        kinds = np.full(count, highspy.HighsVarType.kInteger.value, dtype=np.uint8)
        self.solver.changeColsIntegrality(count, np.arange(count, dtype=np.int32), kinds)
        self._add(found)

    def _add(self, found: list[Row]) -> None:
        infinity = self.solver.getInfinity()
        starts = np.cumsum([0, *(len(row.entries) for row in found)])[:-1].astype(np.int32)
        indices = np.array([i for row in found for i in row.entries], dtype=np.int32)
        weights = np.array([w for row in found for w in row.entries.values()])
        low = np.array([-infinity if row.low is None else row.low for row in found])
        high = np.array([row.high for row in found])
        self.solver.addRows(len(found), low, high, len(indices), starts, indices, weights)

    def improve(self, name: str, costs: Floats, seconds: float) -> Goal:
        """Make ``costs`` times the columns as small as can be within ``seconds``, then keep it so.

        Each goal is searched afresh: from a start of two trips, HiGHS 1.16 was seen to call one
        trip's lateness proven best and to give the start back (story of the ice storm).
        """
        bound = 0.0 if costs.min() >= 0 else -np.inf
        self._price(costs)
        bound = max(bound, self._search(seconds))
        value = float(costs @ self.values)
        self._hold(costs, value)
        return goal_of(name, value, min(value, bound))

    def _price(self, costs: Floats) -> None:
        self.solver.changeColsCost(len(costs), np.arange(len(costs), dtype=np.int32), costs)

    def _search(self, seconds: float) -> float:
        """Search whole numbers; keep what was found, return the bound."""
        self.solver.setOptionValue("time_limit", self.solver.getRunTime() + max(0.2, seconds))
        self.solver.run()
        info = self.solver.getInfo()
        if info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible:
            self.values = np.round(np.array(self.solver.getSolution().col_value))
        return float(info.mip_dual_bound)

    def _hold(self, costs: Floats, value: float) -> None:
        used = np.nonzero(costs)[0].astype(np.int32)
        if len(used):
            high = value + TOLERANCE * max(1.0, abs(value))
            self.solver.addRow(-self.solver.getInfinity(), high, len(used), used, costs[used])

    def chosen(self) -> list[int]:
        """The columns taken."""
        return [int(i) for i in np.nonzero(self.values > 0.5)[0]]


def goal_of(name: str, value: float, bound: float) -> Goal:
    """A goal with its gap: how far the bound still lies below the value."""
    gap = 100.0 * (value - bound) / max(1.0, abs(value))
    return Goal(name, abs(value), abs(bound), max(0.0, gap) if np.isfinite(gap) else 100.0)
