"""A large plan: a bound for each goal, and a plan led there by prices.

1. ``pools``: what can be served at most, rank by rank, in whole numbers and without trucks.
2. ``ascent``, then ``relaxation``: what each set and each hour of a truck is worth.
3. A search in whole numbers among the columns that cost little more than the best at these prices,
   then area by area.
4. Each later goal goes the same way, with those before it held at what was reached: a bound is
   that of the plans which are at least as good in every goal before. Such a plan keeps the goals
   held, so what bounds every plan that keeps them (``prices``) bounds it as well.

A plan that is made again begins also from the one in force, with what it lacks dealt out; and no
site is given another set for less than a quarter of an hour of lateness, since a few minutes in all
would else send a fifth of the sets elsewhere. Lateness is bounded as if nothing stood.
"""

from __future__ import annotations

import time
from collections.abc import Sequence

import numpy as np

from quotes.emergency.allocation.areas import Areas
from quotes.emergency.allocation.ascent import ascend
from quotes.emergency.allocation.dealing import dealt, kept_first, ranks_first, scarce_first
from quotes.emergency.allocation.goals import (
    KEPT,
    RATIO,
    SAME,
    Stage,
    better,
    reached,
    stages,
    weighted,
)
from quotes.emergency.allocation.grid import Floats, Grid, Whole
from quotes.emergency.allocation.master import search
from quotes.emergency.allocation.pools import Pools
from quotes.emergency.allocation.prices import Cost, Held, Prices, priced
from quotes.emergency.allocation.problem import Problem, Stock
from quotes.emergency.allocation.programme import Goal, goal_of
from quotes.emergency.allocation.relaxation import Relaxation, cheapest

STAYS = 0.25  # hours of lateness that it is worth where a site keeps the set of the plan in force
GUIDE = 1e-3  # weight of the goal to come, to tell columns of equal cost apart
SERVED = 60.0  # what a unit of the last rank is worth in hours of lateness, in the first search
FIRST = 1e3  # the same, in the search that is for the ranks before all
NEAR = 3.0  # columns of a search over the whole plan, by demand
GIFTS = 12  # cheapest gifts of each demand, among which that search chooses
ENOUGH = 2e-3  # a goal this near its bound is not bettered any more


class Large:
    """One large problem under way; ``plan`` holds its columns so far."""

    def __init__(self, problem: Problem, stocks: Sequence[Stock], grid: Grid) -> None:
        self.problem, self.stocks, self.grid = problem, stocks, grid
        self.stages = stages(problem, grid)
        self.firsts = [stage for stage in self.stages if stage.served]
        self.rest = [stage for stage in self.stages if not stage.served]
        self.apart = _apart(problem)
        every = np.arange(grid.count)
        self.plan = dealt(grid, ranks_first(problem, grid, scarce_first(grid), every))
        self.stands = dealt(grid, ranks_first(problem, grid, kept_first(grid), every))
        self.first_late = _stays(self.rest)
        late = Stage("lateness", self.first_late)
        self.compared = [*self.firsts, late, *self.rest[1:]]

    def solve(self, seconds: float) -> list[Goal]:
        """All goals in turn: the ranks together with lateness, then lateness, and what follows."""
        until = time.monotonic() + seconds
        most = self._pooled([None] * len(self.firsts), seconds / 12)
        self._served(most, until - 0.5 * seconds)
        bounds = self._rank_bounds(most, seconds / 12)
        goals = [
            goal_of(stage.name, value, min(value, bound))
            for stage, value, bound in zip(
                self.firsts, reached(self.firsts, self.grid, self.plan), bounds, strict=True
            )
        ]
        for number in range(len(self.rest)):
            share = (until - time.monotonic()) / (len(self.rest) - number)
            goals.append(self._next(number, max(0.5, share)))
        return goals

    # ---- ranks ---------------------------------------------------------------------------------

    def _pooled(self, values: Sequence[float | None], seconds: float) -> list[float]:
        """The least cost of each rank, those before it held at ``values``, else at the least."""
        pools = Pools(self.problem, self.stocks, self.grid)
        found = []
        for stage, value in zip(self.firsts, values, strict=True):
            found.append(pools.least(stage.cost.gift, seconds / len(values)))
            pools.hold(stage.cost.gift, found[-1] if value is None else value)
        return found

    def _rank_bounds(self, most: list[float], seconds: float) -> list[float]:
        values = reached(self.firsts, self.grid, self.plan)
        if all(value <= bound + 1e-4 for value, bound in zip(values, most, strict=True)):
            return most
        return self._pooled(values, seconds)

    def _served(self, most: Sequence[float], until: float) -> None:
        """Ranks and lateness in one goal: a plan led by its prices."""
        grid = self.grid
        cost = weighted(self.firsts, SERVED).plus(self.first_late, 1.0)
        total = until - time.monotonic()
        target = cost.total(grid, self.plan)
        prices, _ = ascend(grid, cost, (), Prices.none(grid), target, total / 5)
        columns = cheapest(grid, priced(grid, cost, (), prices), 6)
        self.relaxed = Relaxation(grid, cost, (), np.union1d(columns, self.plan), prices)
        self.relaxed.solve((until - time.monotonic()) * 0.5)
        self._led(cost, (until - time.monotonic()) / 3)
        near = ENOUGH * self.rest[0].cost.total(grid, self.plan)
        self._search(cost, self._firm(most), self.relaxed.bound + near, until)

    def _firm(self, most: Sequence[float]) -> list[Held]:
        """The ranks to hold while more is searched for: those at their best, and the next.

        What comes after may still be given up for the one that is not at its best.
        """
        found: list[Held] = []
        for stage, bound in zip(self.firsts, most, strict=True):
            value = stage.cost.total(self.grid, self.plan)
            found.append(Held(stage.cost, value))
            if value > bound + SAME:
                break
        return found

    def _led(self, cost: Cost, seconds: float) -> None:
        """Plans led by the prices: the gifts of most worth, and what the relaxation takes whole."""
        grid, found = self.grid, self.relaxed.found
        none = np.array([], dtype=np.int64)
        if self.problem.before:
            gifts = grid.gift_of(self.stands)
            self._keep(self._timetables(cost, gifts, self.stands, seconds / 3))
        gifts, no_trip = cheapest(grid, found, GIFTS), np.zeros((len(grid.routes.yard), 1))
        worth = weighted(self.firsts, FIRST).plus(Cost(found.gift, no_trip), 1.0)
        chosen = search(grid, worth, (), gifts, self.plan, none, seconds / 2, trucks=False)
        own, every = grid.gift_of(chosen), np.arange(grid.count)
        order = [ranks_first(self.problem, grid, found.gift, some) for some in (own, every)]
        first = dealt(grid, np.concatenate(order))
        self._keep(self._timetables(cost, grid.gift_of(first), first, seconds / 3))
        whole, near = self.relaxed.whole(), self._near()
        self._keep(np.union1d(whole, search(grid, cost, (), near, none, whole, seconds / 6)))

    def _timetables(self, cost: Cost, gifts: Whole, plan: Whole, seconds: float) -> Whole:
        """These gifts put on the trucks, yard by yard; ``plan`` says how at first."""
        grid = self.grid
        yard = grid.routes.yard[grid.route[gifts]]
        for one in np.unique(yard):
            hours = gifts[yard == one][:, None] * grid.slots + np.arange(grid.slots)
            own = np.isin(grid.gift_of(plan), gifts[yard == one])
            each = seconds / len(self.problem.yards)
            columns = self._open(hours.ravel())
            again = search(grid, cost, (), columns, plan[own], plan[~own], each)
            plan = np.union1d(plan[~own], again)
        return plan

    def _keep(self, plan: Whole) -> None:
        one, other = (reached(self.compared, self.grid, each) for each in (plan, self.plan))
        if better(one, other):
            self.plan = plan

    def _search(self, cost: Cost, held: Sequence[Held], enough: float, until: float) -> None:
        """Whole numbers near the relaxation, over all yards and then by areas.

        ``enough`` is the cost that is not bettered any more.
        """
        grid, relaxed = self.grid, self.relaxed
        left = until - time.monotonic()
        areas = Areas(grid, self.apart)
        self.plan = areas.better(cost, held, relaxed, self.plan, enough, until - left / 2)
        if cost.total(grid, self.plan) > enough:
            self._around(cost, held, left / 6)
        self.plan = areas.better(cost, held, relaxed, self.plan, enough, until)

    def _around(self, cost: Cost, held: Sequence[Held], seconds: float) -> None:
        """What plan and relaxation agree on stays; the rest is searched near the relaxation."""
        both = np.intersect1d(self.relaxed.whole(), self.plan)
        rest = np.setdiff1d(self.plan, both)
        found = search(self.grid, cost, held, self._near(), rest, both, seconds)
        self.plan = np.union1d(both, found)

    def _near(self) -> Whole:
        """Columns near the relaxation, as many as a search over all yards can take."""
        return self.relaxed.near(int(NEAR * len(self.problem.demands)))

    def _open(self, columns: Whole) -> Whole:
        """Those whose sets are free by then and that arrive within the horizon."""
        grid = self.grid
        gift, slot = grid.gift_of(columns), grid.slot_of(columns)
        late_h = grid.routes.late_h[grid.route[gift], slot]
        return columns[(slot >= grid.first[gift]) & np.isfinite(late_h)]

    # ---- what follows --------------------------------------------------------------------------

    def _next(self, number: int, seconds: float) -> Goal:
        """One goal, those before it held at what was reached."""
        until = time.monotonic() + seconds
        grid, stage = self.grid, self.rest[number]
        before = [*self.firsts, *self.rest[:number]]
        values = reached(before, grid, self.plan)
        held = [Held(s.cost, v) for s, v in zip(before, values, strict=True)]
        cost = _guided(self.rest, number)
        prices = self._carried(len(held))
        columns = np.union1d(self.relaxed.near(6 * len(self.problem.demands)), self.plan)
        self.relaxed = Relaxation(grid, cost, held, columns, prices)
        self.relaxed.solve(seconds / 2)
        if number == 0:
            cost = self.first_late
        least = priced(grid, cost, held, self.relaxed.prices).bound
        self._search(cost, held, least + ENOUGH * abs(self.relaxed.bound), until)
        bound = priced(grid, stage.cost, held, self.relaxed.prices).bound
        value = stage.cost.total(grid, self.plan)
        return goal_of(stage.name, value, min(value, max(bound, _least(stage))))

    def _carried(self, count: int) -> Prices:
        """The prices of the goal before; what was its cost is now held."""
        had = self.relaxed.prices
        if self.relaxed.held:
            goals = np.append(had.held, 1.0)
        else:
            goals = SERVED * RATIO ** np.arange(len(self.firsts))[::-1]
        return Prices(had.stocks, had.trucks, had.sites, goals[:count])


def _least(stage: Stage) -> float:
    """A bound that takes no time: 0 where nothing costs less."""
    return 0.0 if stage.cost.gift.min() >= 0 else -np.inf


def _stays(rest: Sequence[Stage]) -> Cost:
    """Lateness as plans are led by it: with what it is worth that a site keeps its set."""
    cost = _guided(rest, 0)
    return cost.plus(rest[1].cost, STAYS - GUIDE) if rest[1].name == KEPT else cost


def _guided(rest: Sequence[Stage], number: int) -> Cost:
    """A goal with a little of the next, to tell columns of equal cost apart."""
    cost = rest[number].cost
    return cost.plus(rest[number + 1].cost, GUIDE) if number + 1 < len(rest) else cost


def _apart(problem: Problem) -> Floats:
    """How far the yards lie apart, in degrees: good enough to tell neighbours."""
    at = np.array([(yard.latitude_deg, yard.longitude_deg) for yard in problem.yards])
    return np.asarray(np.hypot(*(at[:, None, :] - at[None, :, :]).transpose(2, 0, 1)))
