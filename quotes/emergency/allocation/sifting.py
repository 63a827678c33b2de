"""The linear relaxation of a large plan: a few columns at first, others as they prove worth while.

Column generation ("sifting"): the relaxation is solved over the columns open so far; the prices of
its rows then tell which of the others would improve it. Where there are none, it is the relaxation
over all columns. Its value bounds the goal from below; stopped early, the price bound still does.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import highspy
import numpy as np

from quotes.emergency.allocation.matrix import (
    TOLERANCE,
    Floats,
    Mask,
    Matrix,
    add_columns,
    add_loss,
)

AT_ONCE = 2000  # columns opened in one go


@dataclass(frozen=True, slots=True)
class Relaxed:
    """Lower bound of the goal, what each column would cost more, and how much of it is taken."""

    bound: float
    reduced: Floats
    taken: Floats


class Sifter:
    """Keeps the solver and the columns open, so that a later goal starts where the last ended."""

    def __init__(self, matrix: Matrix, opened: Mask) -> None:
        self.matrix = matrix
        self.solver = matrix.solver()
        self.places: list[int] = [-1] * len(matrix.held)
        self.open: Mask = np.zeros(matrix.count, dtype=bool)
        self._add(np.zeros(matrix.count), np.nonzero(opened)[0])

    def _add(self, costs: Floats, columns: np.ndarray) -> None:
        add_columns(self.solver, self.matrix, costs, columns)
        self.open[columns] = True
        self.places += columns.tolist()

    def hold(self, costs: Floats, value: float, weight: float) -> None:
        """Hold a goal that was reached, in the matrix and here."""
        self.matrix.hold(costs, value, weight)
        places = np.array(self.places)
        weights = np.where(places >= 0, costs[places], 0.0)
        used = np.nonzero(weights)[0].astype(np.int32)
        infinity = self.solver.getInfinity()
        self.solver.addRow(-infinity, value, len(used), used, weights[used])
        add_loss(self.solver, len(self.matrix.high) - 1, weight)
        self.places.append(-1)

    def solve(self, costs: Floats, seconds: float) -> Relaxed:
        """The relaxation of one goal, within about ``seconds``."""
        until = time.monotonic() + seconds
        self._price(costs)
        best, reduced, taken = -np.inf, np.zeros(len(costs)), np.zeros(len(costs))
        while self._run(until):
            solution = self.solver.getSolution()
            reduced = self.matrix.reduced(costs, np.array(solution.row_dual))
            taken = self._taken(np.array(solution.col_value))
            wanted = np.nonzero((reduced < -TOLERANCE) & ~self.open)[0]
            value = float(self.solver.getInfo().objective_function_value)
            best = max(best, value + float(reduced[wanted].sum()))
            if not len(wanted) or time.monotonic() > until:
                break
            self._add(costs, wanted[np.argsort(reduced[wanted])][:AT_ONCE])
        return Relaxed(best, reduced, taken)

    def _price(self, costs: Floats) -> None:
        places = np.array(self.places)
        own = np.nonzero(places >= 0)[0].astype(np.int32)
        self.solver.changeColsCost(len(own), own, costs[places[own]])

    def _run(self, until: float) -> bool:
        left = max(0.2, until - time.monotonic())
        self.solver.setOptionValue("time_limit", self.solver.getRunTime() + left)
        self.solver.run()
        return bool(self.solver.getModelStatus() == highspy.HighsModelStatus.kOptimal)

    def _taken(self, values: Floats) -> Floats:
        places, taken = np.array(self.places), np.zeros(self.matrix.count)
        taken[places[places >= 0]] = values[places >= 0]
        return taken
