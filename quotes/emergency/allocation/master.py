"""Some of the columns of a large plan in the hands of HiGHS: as a relaxation, or in whole numbers.

Rows stand in the order sites, stocks, trucks by yard and slot, goals held.
"""

from __future__ import annotations

from collections.abc import Sequence

import highspy
import numpy as np

from quotes.emergency.allocation.grid import Floats, Grid, Whole
from quotes.emergency.allocation.prices import Cost, Held, Prices, spans, used
from quotes.emergency.allocation.programme import Solver

EXACT = 1e-3  # how near its best a search may end


class Entries:
    """The entries of columns in the rows, as the solver wants them."""

    def __init__(self, grid: Grid, held: Sequence[Held], columns: Whole) -> None:
        gift, slot = grid.gift_of(columns), grid.slot_of(columns)
        route, number = grid.route[gift], np.arange(len(columns))
        sites = grid.sites[grid.demand[gift]]
        stocks, times = grid.stocks[gift], grid.times[gift]
        away, count = grid.routes.away[route], grid.routes.count[route]
        at = spans(grid.routes.yard[route] * grid.truck_slots + slot, away)
        goals = [one.cost.of(grid, columns) for one in held]
        rows = [
            np.where(sites < grid.site_count, sites, -1).ravel(),
            np.where(times > 0, stocks + grid.site_count, -1).ravel(),
            at + first_truck(grid),
            *(np.where(g != 0, n, -1) for n, g in enumerate(goals, start=first_held(grid))),
        ]
        weights = [np.ones(sites.size), times.ravel(), np.repeat(count, away), *goals]
        own = [
            np.repeat(number, sites.shape[1]),
            np.repeat(number, stocks.shape[1]),
            np.repeat(number, away),
            *(number for _ in goals),
        ]
        row, column, weight = map(np.concatenate, (rows, own, weights))
        there = row >= 0
        order = np.argsort(column[there], kind="stable")
        self.rows = row[there][order].astype(np.int32)
        self.weights = weight[there][order].astype(np.float64)
        self.starts = np.searchsorted(column[there][order], number).astype(np.int32)


def first_truck(grid: Grid) -> int:
    return grid.site_count + len(grid.limits.stocks)


def first_held(grid: Grid) -> int:
    return first_truck(grid) + grid.limits.trucks.size


def row_limits(grid: Grid, held: Sequence[Held]) -> Floats:
    """The right-hand sides."""
    trucks = grid.limits.trucks.ravel()
    values = [one.value for one in held]
    return np.concatenate([np.ones(grid.site_count), grid.limits.stocks, trucks, values])


def row_use(grid: Grid, held: Sequence[Held], columns: Whole) -> Floats:
    """How much of each right-hand side these columns use."""
    found = used(grid, columns)
    goals = [one.cost.total(grid, columns) for one in held]
    return np.concatenate([found.sites, found.stocks, found.trucks.ravel(), goals])


def prices_of(grid: Grid, line: Floats) -> Prices:
    """Row prices by what they are for."""
    places = [grid.site_count, first_truck(grid), first_held(grid)]
    sites, stocks, trucks, goals = np.split(np.maximum(0.0, line), places)
    return Prices(stocks, trucks.reshape(grid.limits.trucks.shape), sites, goals)


def loaded(
    grid: Grid, cost: Cost, held: Sequence[Held], limits: Floats, columns: Whole
) -> highspy.Highs:
    """A solver with the rows, and with these columns between 0 and 1."""
    solver = Solver()
    none = np.array([], dtype=np.int32)
    low = np.full(len(limits), -highspy.kHighsInf)
    solver.addRows(len(limits), low, limits, 0, none, none, np.array([]))
    add(solver, grid, cost, held, columns)
    return solver


def add(
    solver: highspy.Highs, grid: Grid, cost: Cost, held: Sequence[Held], columns: Whole
) -> None:
    """Open further columns."""
    found = Entries(grid, held, columns)
    count = len(columns)
    solver.addCols(
        count,
        cost.of(grid, columns),
        np.zeros(count),
        np.ones(count),
        len(found.rows),
        found.starts,
        found.rows,
        found.weights,
    )


def search(
    grid: Grid,
    cost: Cost,
    held: Sequence[Held],
    columns: Whole,
    start: Whole,
    fixed: Whole,
    seconds: float,
    *,
    trucks: bool = True,
) -> Whole:
    """The best choice found among ``columns`` beside what is ``fixed``; ``start`` if none better.

    The goals held count with what is fixed. Without ``trucks`` there are as many as wanted.
    """
    columns = np.setdiff1d(np.union1d(columns, start), fixed)
    limits = row_limits(grid, held) - row_use(grid, held, fixed)
    if not trucks:
        limits[first_truck(grid) : first_held(grid)] = np.inf
    for n, one in enumerate(held, start=first_held(grid)):
        limits[n] += 1e-7 * max(1.0, abs(one.value))
    solver = loaded(grid, cost, held, limits, columns)
    count = len(columns)
    kinds = np.full(count, highspy.HighsVarType.kInteger.value, dtype=np.uint8)
    solver.changeColsIntegrality(count, np.arange(count, dtype=np.int32), kinds)
    solver.setOptionValue("time_limit", max(0.2, seconds))
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", EXACT)
    given = highspy.HighsSolution()
    given.col_value = np.isin(columns, start).astype(float).tolist()
    solver.setSolution(given)
    solver.run()
    feasible = highspy.SolutionStatus.kSolutionStatusFeasible
    if solver.getInfo().primal_solution_status != feasible:
        return start
    found = columns[np.array(solver.getSolution().col_value)[:count] > 0.5]
    return found if cost.total(grid, found) < cost.total(grid, start) - 1e-9 else start
