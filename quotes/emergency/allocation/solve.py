"""Picking the best plan: one goal after the other, each kept while the next is improved.

Goals, in this order: the load served at rank 1, at rank 2, and so on; hours of lateness; places that
change hands against the plan in force; kilometres. Each is a mixed-integer programme solved by
HiGHS to proven optimum, or to a stated gap when the time runs out.

Constraints: a site is served at most once, like sets are given out at most as often as there are of
them, a yard has no more trucks away than it has, and a pinned site gets its unit.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import highspy
import numpy as np
from numpy.typing import NDArray

from quotes.emergency.allocation.columns import Column, columns, split_stocks
from quotes.emergency.allocation.problem import Problem, Stock

Floats = NDArray[np.float64]
TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True)
class Delivery:
    """One delivery of the plan: these units to these sites, leaving and arriving at these hours."""

    sites: tuple[str, ...]
    set_code: str
    units: tuple[str, ...]
    yard: str
    depart_h: float
    arrive_h: float
    late_h: float
    distance_km: float
    share: float


@dataclass(frozen=True, slots=True)
class Goal:
    """What one stage reached. ``gap_percent`` is 0 where the optimum is proven."""

    name: str
    value: float
    bound: float
    gap_percent: float


@dataclass(frozen=True, slots=True)
class Plan:
    """The deliveries, the sites left without, and what each goal reached."""

    deliveries: tuple[Delivery, ...]
    unmet: tuple[str, ...]
    goals: tuple[Goal, ...]
    seconds: float

    @property
    def proven(self) -> bool:
        return all(goal.gap_percent <= 0.01 for goal in self.goals)

    def served_load(self) -> float:
        """Sum of shares over all sites served."""
        return sum(delivery.share * len(delivery.sites) for delivery in self.deliveries)


def plan(
    problem: Problem, *, seconds: float = 20.0, clock: Callable[[], float] = time.monotonic
) -> Plan:
    """Solve the problem within about ``seconds``; the clock only bounds the effort."""
    began = clock()
    stocks = split_stocks(problem)
    found = columns(problem, stocks)
    if not found:
        return Plan((), tuple(site.key for site in problem.sites), (), clock() - began)
    model = _Model(problem, stocks, found)
    goals: list[Goal] = []
    stages = model.stages()
    for number, (name, costs) in enumerate(stages):
        left = max(0.5, seconds - (clock() - began))
        goals.append(model.improve(name, costs, left / (len(stages) - number)))
    deliveries = _deliveries(problem, stocks, [found[i] for i in model.chosen()])
    served = {key for delivery in deliveries for key in delivery.sites}
    unmet = tuple(site.key for site in problem.sites if site.key not in served)
    return Plan(deliveries, unmet, tuple(goals), clock() - began)


class _Model:
    """The programme: binary columns, rows of sites, stocks and trucks, and goals as they are met."""

    def __init__(self, problem: Problem, stocks: tuple[Stock, ...], found: list[Column]) -> None:
        self.problem, self.found = problem, found
        self.solver = highspy.Highs()
        self.solver.silent()
        self.values: Floats = np.zeros(len(found))
        self._build(stocks)

    def _build(self, stocks: tuple[Stock, ...]) -> None:
        count = len(self.found)
        infinity = self.solver.getInfinity()
        self.solver.addVars(count, np.zeros(count), np.ones(count))
        self.solver.changeColsIntegrality(
            count, np.arange(count, dtype=np.int32),
            np.full(count, highspy.HighsVarType.kInteger.value, dtype=np.uint8),
        )  # fmt: skip
        for low, high, entries in self._rows(stocks):
            indices = np.array([i for i, _ in entries], dtype=np.int32)
            weights = np.array([w for _, w in entries], dtype=np.float64)
            self.solver.addRow(
                low if low is not None else -infinity, high, len(entries), indices, weights
            )

    def _rows(
        self, stocks: tuple[Stock, ...]
    ) -> list[tuple[float | None, float, list[tuple[int, float]]]]:
        """Rows as (lower bound, upper bound, entries): sites, stocks, trucks of a yard in a slot."""
        at_site: dict[str, list[tuple[int, float]]] = {}
        of_stock: dict[int, list[tuple[int, float]]] = {}
        on_road: dict[tuple[str, int], list[tuple[int, float]]] = {}
        for index, column in enumerate(self.found):
            for key in self.problem.demands[column.demand].sites:
                at_site.setdefault(key, []).append((index, 1.0))
            of_stock.setdefault(column.stock, []).append((index, float(column.option.count)))
            yard = stocks[column.stock].yard
            for slot in column.slots:
                on_road.setdefault((yard, slot), []).append((index, float(column.option.count)))
        trucks = {yard.key: float(yard.trucks) for yard in self.problem.yards}
        pinned = self.problem.pinned
        rows = [(1.0 if key in pinned else None, 1.0, entries) for key, entries in at_site.items()]
        rows += [(None, float(len(stocks[s].units)), entries) for s, entries in of_stock.items()]
        rows += [(None, trucks[yard], entries) for (yard, _), entries in on_road.items()]
        return rows

    def stages(self) -> list[tuple[str, Floats]]:
        """The goals in order, each as a cost to be made small."""
        ranks = {site.key: site.rank for site in self.problem.sites}
        stages: list[tuple[str, Floats]] = []
        for rank in sorted(set(ranks.values())):
            served = [
                -c.option.share
                * sum(ranks[k] == rank for k in self.problem.demands[c.demand].sites)
                for c in self.found
            ]
            stages.append((f"rank {rank}", np.array(served)))
        stages.append(("lateness", np.array([c.late_h for c in self.found])))
        if self.problem.before:
            stages.append(("changes", np.array([float(c.changes) for c in self.found])))
        stages.append(("distance", np.array([c.distance_km for c in self.found])))
        return stages

    def improve(self, name: str, costs: Floats, seconds: float) -> Goal:
        """Make one goal as good as can be, then hold it there for the goals that follow."""
        count = len(costs)
        self.solver.changeColsCost(count, np.arange(count, dtype=np.int32), costs)
        self.solver.setOptionValue("time_limit", self.solver.getRunTime() + seconds)
        if self.values.any():
            self._start_from(self.values)
        self.solver.run()
        info = self.solver.getInfo()
        solution = np.array(self.solver.getSolution().col_value)
        if info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible:
            self.values = np.round(solution)
        value = float(costs @ self.values)
        bound = min(value, float(info.mip_dual_bound))
        used = np.nonzero(costs)[0].astype(np.int32)
        if len(used):
            slack = TOLERANCE * max(1.0, abs(value))
            self.solver.addRow(
                -self.solver.getInfinity(), value + slack, len(used), used, costs[used]
            )
        gap = 100.0 * (value - bound) / max(1.0, abs(value))
        return Goal(name, abs(value), abs(bound), gap if np.isfinite(gap) else 100.0)

    def _start_from(self, values: Floats) -> None:
        """Give the solver the plan so far, so that a later goal can only improve on it."""
        start = highspy.HighsSolution()
        start.col_value = values.tolist()
        self.solver.setSolution(start)

    def chosen(self) -> list[int]:
        return [int(i) for i in np.nonzero(self.values > 0.5)[0]]


def _deliveries(
    problem: Problem, stocks: tuple[Stock, ...], chosen: list[Column]
) -> tuple[Delivery, ...]:
    """Columns as deliveries, each with units taken by name from its stock."""
    left = {index: list(stock.units) for index, stock in enumerate(stocks)}
    made: list[Delivery] = []
    for column in sorted(chosen, key=lambda c: (c.depart_h, c.demand)):
        units = tuple(left[column.stock].pop(0) for _ in range(column.option.count))
        made.append(
            Delivery(
                sites=problem.demands[column.demand].sites,
                set_code=column.option.set_code,
                units=units,
                yard=stocks[column.stock].yard,
                depart_h=column.depart_h,
                arrive_h=column.arrive_h,
                late_h=column.late_h,
                distance_km=column.distance_km,
                share=column.option.share,
            )  # fmt: skip
        )
    return tuple(made)
