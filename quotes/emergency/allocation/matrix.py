"""All columns and rows of a large plan, so that parts of them can be handed to the solver."""

from __future__ import annotations

from dataclasses import dataclass

import highspy
import numpy as np
from numpy.typing import NDArray

from quotes.emergency.allocation.programme import Row

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Mask = NDArray[np.bool_]
TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True)
class Held:
    """A goal reached before: its costs stay at ``value``, or what lies above costs ``weight``."""

    costs: Floats
    value: float
    weight: float

    def excess(self, values: Floats) -> float:
        return max(0.0, float(self.costs @ values) - self.value)


class Matrix:
    """Entries sorted by column; ``hold`` adds a row for a goal that was reached."""

    def __init__(self, count: int, found: list[Row]) -> None:
        infinity = highspy.kHighsInf
        self.count = count
        self.held: list[Held] = []
        self.low = np.array([-infinity if row.low is None else row.low for row in found])
        self.high = np.array([row.high for row in found])
        lengths = [len(row.entries) for row in found]
        rows_of = np.repeat(np.arange(len(found)), lengths)
        columns = np.array([i for row in found for i in row.entries], dtype=np.int64)
        self._sort(rows_of, columns, np.array([w for r in found for w in r.entries.values()]))

    def _sort(self, rows_of: Whole, columns: Whole, weights: Floats) -> None:
        order = np.argsort(columns, kind="stable")
        self.rows_of, self.columns, self.weights = rows_of[order], columns[order], weights[order]
        self.starts = np.searchsorted(self.columns, np.arange(self.count + 1))

    def hold(self, costs: Floats, value: float, weight: float) -> Held:
        """Keep a goal; what is lost of it again costs ``weight`` a unit."""
        held = Held(costs, value, weight)
        used = np.nonzero(costs)[0]
        self.held.append(held)
        self._sort(
            np.concatenate([self.rows_of, np.full(len(used), len(self.high))]),
            np.concatenate([self.columns, used]),
            np.concatenate([self.weights, costs[used]]),
        )
        self.low = np.append(self.low, -highspy.kHighsInf)
        self.high = np.append(self.high, value)
        return held

    def first_held(self) -> int:
        return len(self.high) - len(self.held)

    def part(self, columns: Whole) -> tuple[Whole, Whole, Floats]:
        """Starts, rows and weights of some columns, as the solver wants them."""
        lengths = self.starts[columns + 1] - self.starts[columns]
        starts = np.concatenate([[0], np.cumsum(lengths)[:-1]])
        entries = np.repeat(self.starts[columns] - starts, lengths) + np.arange(lengths.sum())
        return starts, self.rows_of[entries], self.weights[entries]

    def reduced(self, costs: Floats, prices: Floats) -> Floats:
        """Costs of all columns less what their rows are worth."""
        worth = self.weights * prices[self.rows_of]
        return costs - np.bincount(self.columns, worth, minlength=self.count)

    def total(self, costs: Floats, values: Floats) -> float:
        """What a plan costs, goals lost again included."""
        lost = sum(held.weight * held.excess(values) for held in self.held)
        return float(costs @ values) + lost

    def solver(self) -> highspy.Highs:
        """A solver with all rows, and a column for what is lost of each goal held."""
        solver = highspy.Highs()  # type: ignore[no-untyped-call]
        solver.silent()
        none = np.array([], dtype=np.int32)
        solver.addRows(len(self.high), self.low, self.high, 0, none, none, np.array([]))
        for row, held in enumerate(self.held, start=self.first_held()):
            add_loss(solver, row, held.weight)
        return solver


def add_loss(solver: highspy.Highs, row: int, weight: float) -> None:
    """A column for what is lost of the goal that this row holds."""
    at = np.array([row], dtype=np.int32)
    solver.addCol(weight, 0.0, highspy.kHighsInf, 1, at, np.array([-1.0]))


def add_columns(solver: highspy.Highs, matrix: Matrix, costs: Floats, columns: Whole) -> None:
    """Give the solver some of the columns, each between 0 and 1."""
    starts, rows_of, weights = matrix.part(columns)
    count = len(columns)
    solver.addCols(
        count,
        costs[columns],
        np.zeros(count),
        np.ones(count),
        len(weights),
        starts.astype(np.int32),
        rows_of.astype(np.int32),
        weights,
    )


def search(matrix: Matrix, costs: Floats, columns: Whole, start: Floats, seconds: float) -> Floats:
    """The best plan found among some columns, never worse than the one to start from."""
    columns = np.union1d(columns, np.nonzero(start > 0.5)[0])
    solver = matrix.solver()
    solver.setOptionValue("time_limit", max(0.2, seconds))
    losses = len(matrix.held)
    add_columns(solver, matrix, costs, columns)
    kinds = np.full(len(columns), highspy.HighsVarType.kInteger.value, dtype=np.uint8)
    places = np.arange(losses, losses + len(columns), dtype=np.int32)
    solver.changeColsIntegrality(len(columns), places, kinds)
    given = highspy.HighsSolution()
    given.col_value = [*(h.excess(start) for h in matrix.held), *start[columns].tolist()]
    solver.setSolution(given)
    solver.run()
    feasible = highspy.SolutionStatus.kSolutionStatusFeasible
    if solver.getInfo().primal_solution_status != feasible:
        return start
    found = np.zeros(matrix.count)
    found[columns] = np.round(np.array(solver.getSolution().col_value)[losses:])
    better = matrix.total(costs, found) < matrix.total(costs, start)
    return found if better else start
