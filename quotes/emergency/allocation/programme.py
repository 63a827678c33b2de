"""A thin cover of HiGHS: binary columns, rows, and one goal held after another."""

from __future__ import annotations

from dataclasses import dataclass

import highspy
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
TOLERANCE = 1e-6
SMALL = 4000  # columns that are searched whole at once
KEPT = 4000  # columns kept where there are more


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
        self.solver = highspy.Highs()  # type: ignore[no-untyped-call]
        self.solver.silent()
        self.solver.setOptionValue("threads", 2)
        self.solver.setOptionValue("mip_rel_gap", 0.0)
        self.solver.addVars(count, np.zeros(count), np.ones(count))
        self._add(found)

    def _add(self, found: list[Row]) -> None:
        infinity = self.solver.getInfinity()
        starts = np.cumsum([0, *(len(row.entries) for row in found)])[:-1].astype(np.int32)
        indices = np.array([i for row in found for i in row.entries], dtype=np.int32)
        weights = np.array([w for row in found for w in row.entries.values()])
        low = np.array([-infinity if row.low is None else row.low for row in found])
        high = np.array([row.high for row in found])
        self.solver.addRows(len(found), low, high, len(indices), starts, indices, weights)

    def improve(
        self, name: str, costs: Floats, seconds: float, guide: Floats | None = None
    ) -> Goal:
        """Make ``costs`` times the columns as small as can be within ``seconds``, then keep it so.

        A small programme is searched whole. A large one first solves the linear relaxation, which
        bounds the goal from below, then looks for whole numbers among the columns the relaxation
        finds worth while; ``guide``, a small share of the goal to come, tells columns of equal cost
        apart. What lies between the two is the stated gap.
        """
        bound = 0.0 if costs.min() >= 0 else -np.inf
        if len(costs) > SMALL:
            self._guided(costs if guide is None else costs + guide, seconds)
            if _open_gap(float(costs @ self.values), bound):
                bound = max(bound, self._relaxed(costs, seconds)[0])
        else:
            self._price(costs)
            none = np.zeros(len(costs), dtype=bool)
            bound = max(bound, self._search(none, seconds))
        value = float(costs @ self.values)
        self._hold(costs, value)
        return goal_of(name, value, min(value, bound))

    def _guided(self, costs: Floats, seconds: float) -> None:
        _, spare = self._relaxed(costs, seconds / 2)
        self._search(spare, seconds / 2)

    def _price(self, costs: Floats) -> None:
        self.solver.changeColsCost(len(costs), np.arange(len(costs), dtype=np.int32), costs)

    def _relaxed(self, costs: Floats, seconds: float) -> tuple[float, NDArray[np.bool_]]:
        """Lower bound of the goal without whole numbers, and the columns not worth while.

        Out of time there is no bound, and every column is worth while.
        """
        self._price(costs)
        self._whole(False)
        self.solver.setOptionValue("time_limit", self.solver.getRunTime() + max(0.2, seconds))
        self.solver.run()
        if self.solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return -np.inf, np.zeros(len(costs), dtype=bool)
        solution = self.solver.getSolution()
        reduced, taken = np.array(solution.col_dual), np.array(solution.col_value)
        worth = max(float(np.quantile(reduced, min(1.0, KEPT / len(costs)))), TOLERANCE)
        spare = (reduced > worth) & (self.values < 0.5) & (taken < TOLERANCE)
        return float(self.solver.getInfo().objective_function_value), spare

    def _search(self, shut: NDArray[np.bool_], seconds: float) -> float:
        """Search whole numbers with some columns shut; keep what was found, return the bound."""
        self._whole(True)
        self._open(~shut)
        self.solver.setOptionValue("time_limit", self.solver.getRunTime() + max(0.2, seconds))
        if len(self.values) > SMALL and self.values.any():
            # A small one starts afresh: from a start of two trips, HiGHS 1.16 was seen to call one
            # trip's lateness proven best and to give the start back (story of the ice storm).
            self._start_from(self.values)
        self.solver.run()
        info = self.solver.getInfo()
        if info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible:
            self.values = np.round(np.array(self.solver.getSolution().col_value))
        self._open(np.ones(len(shut), dtype=bool))
        return float(info.mip_dual_bound)

    def cheapest(self, costs: Floats, seconds: float) -> None:
        """The cheapest choice that keeps every goal held; the one so far where none is found."""
        self._price(costs)
        shut = costs > np.partition(costs, min(KEPT, len(costs) - 1))[min(KEPT, len(costs) - 1)]
        self._search(shut & (self.values < 0.5), seconds)

    def _whole(self, wanted: bool) -> None:
        kind = highspy.HighsVarType.kInteger if wanted else highspy.HighsVarType.kContinuous
        count = len(self.values)
        kinds = np.full(count, kind.value, dtype=np.uint8)
        self.solver.changeColsIntegrality(count, np.arange(count, dtype=np.int32), kinds)

    def _open(self, wanted: NDArray[np.bool_]) -> None:
        count = len(self.values)
        every = np.arange(count, dtype=np.int32)
        self.solver.changeColsBounds(count, every, np.zeros(count), wanted.astype(np.float64))

    def fix(self, costs: Floats, value: float, start: Floats) -> None:
        """Hold a goal that was reached elsewhere, with the choice that reaches it."""
        self.values = start
        self._hold(costs, value)

    def _start_from(self, values: Floats) -> None:
        """Give the solver the plan so far, so that a later goal can only improve on it."""
        start = highspy.HighsSolution()
        start.col_value = values.tolist()
        self.solver.setSolution(start)

    def _hold(self, costs: Floats, value: float) -> None:
        used = np.nonzero(costs)[0].astype(np.int32)
        if len(used):
            high = value + TOLERANCE * max(1.0, abs(value))
            self.solver.addRow(-self.solver.getInfinity(), high, len(used), used, costs[used])

    def chosen(self) -> list[int]:
        """The columns taken."""
        return [int(i) for i in np.nonzero(self.values > 0.5)[0]]


def _open_gap(value: float, bound: float) -> bool:
    """Whether the value is not yet known to be the best there is."""
    return not np.isfinite(bound) or value - bound > 10 * TOLERANCE * max(1.0, abs(value))


def goal_of(name: str, value: float, bound: float) -> Goal:
    """A goal with its gap: how far the bound still lies below the value."""
    gap = 100.0 * (value - bound) / max(1.0, abs(value))
    return Goal(name, abs(value), abs(bound), max(0.0, gap) if np.isfinite(gap) else 100.0)
