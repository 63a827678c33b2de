"""The goals of a large plan in their order, as costs of gifts and departures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from quotes.emergency.allocation.grid import Floats, Grid, Whole
from quotes.emergency.allocation.prices import Cost
from quotes.emergency.allocation.problem import Problem

RATIO = 4.0  # what a unit of one rank is worth in units of the next, in the first search
SAME = 1e-6
KEPT = "kept"  # the goal of sites that keep their set


@dataclass(frozen=True, slots=True)
class Stage:
    """A goal by its name; ``served`` where it counts pins or ranks."""

    name: str
    cost: Cost
    served: bool = False


def stages(problem: Problem, grid: Grid) -> list[Stage]:
    """Pins, ranks, lateness, sites that keep their set, kilometres."""
    routes, no_trip = grid.routes, np.zeros((len(grid.routes.yard), 1))
    late_h = np.where(np.isfinite(routes.late_h), routes.late_h, 0.0)
    found = [
        *([Stage("pins", Cost(_pins(problem, grid), no_trip), True)] if problem.pinned else []),
        *(
            Stage(f"rank {rank}", Cost(_served(problem, grid, rank), no_trip), True)
            for rank in sorted({site.rank for site in problem.sites})
        ),
        Stage("lateness", Cost(np.zeros(grid.count), late_h)),
    ]
    if problem.before:
        kept = np.array([-float(gift.kept) for gift in grid.given])
        found.append(Stage(KEPT, Cost(kept, no_trip)))
    return [*found, Stage("distance", Cost(np.zeros(grid.count), routes.distance_km[:, None]))]


def _served(problem: Problem, grid: Grid, rank: int) -> Floats:
    ranks = {site.key: site.rank for site in problem.sites}
    there = np.array([sum(ranks[k] == rank for k in d.sites) for d in problem.demands])
    shares = np.array([gift.option.share for gift in grid.given])
    return np.asarray(-shares * there[grid.demand])


def _pins(problem: Problem, grid: Grid) -> Floats:
    there = np.array([sum(k in problem.pinned for k in d.sites) for d in problem.demands])
    return np.asarray(-1.0 * there[grid.demand])


def weighted(found: Sequence[Stage], last: float) -> Cost:
    """Goals in one: a unit of the last is worth ``last``, one of each before that times more."""
    total = found[-1].cost.plus(found[-1].cost, last - 1.0)
    for n, stage in enumerate(reversed(found[:-1]), start=1):
        total = total.plus(stage.cost, last * RATIO**n)
    return total


def reached(found: Sequence[Stage], grid: Grid, columns: Whole) -> list[float]:
    return [stage.cost.total(grid, columns) for stage in found]


def better(one: Sequence[float], other: Sequence[float]) -> bool:
    """Whether one plan beats another: by the first goal that tells them apart."""
    for a, b in zip(one, other, strict=True):
        if abs(a - b) > SAME * max(1.0, abs(b)):
            return a < b
    return False
