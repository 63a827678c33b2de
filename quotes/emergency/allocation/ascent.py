"""Finding prices that bound a goal well, by many cheap steps.

The volume algorithm: each step lets every demand choose at the prices of the moment, and raises the
price of what too many want. Source: Barahona and Anbil, The volume algorithm, Mathematical
Programming 87 (2000); cited from memory. Only the bound is used, so a poor step costs time alone.
"""

from __future__ import annotations

import time
from collections.abc import Sequence

import numpy as np

from quotes.emergency.allocation.grid import Floats, Grid, Mask
from quotes.emergency.allocation.prices import Cost, Held, Priced, Prices, priced, used

NEW = 0.1  # weight of the newest choice in what is wanted on the whole
STALE = 20  # steps without a better bound before they are made shorter
STEPS = 100


def ascend(
    grid: Grid, cost: Cost, held: Sequence[Held], start: Prices, target: float, seconds: float
) -> tuple[Prices, float]:
    """Prices and their bound; ``target`` is what a plan at hand reaches."""
    until = time.monotonic() + seconds
    best, found = start, priced(grid, cost, held, start)
    bound = found.bound
    wanted = _excess(grid, held, found)
    length, stale = 0.1, 0
    for _ in range(STEPS):
        if time.monotonic() > until or target - bound < 1e-3 * abs(target):
            break
        tried = _moved(best, wanted, length * max(target - bound, 1e-9))
        found = priced(grid, cost, held, tried)
        wanted = (1 - NEW) * wanted + NEW * _excess(grid, held, found)
        stale += 1
        if found.bound > bound:
            length = min(1.0, length * 1.1)
            best, bound, stale = tried, found.bound, 0
        elif stale >= STALE:
            length, stale = length * 0.66, 0
    return best, bound


def _excess(grid: Grid, held: Sequence[Held], found: Priced) -> Floats:
    """What is wanted beyond each limit, in one line."""
    columns = found.columns(grid)
    taken = used(grid, columns)
    goals = [one.cost.total(grid, columns) - one.value for one in held]
    return np.concatenate(
        [
            taken.stocks - grid.limits.stocks,
            (taken.trucks - grid.limits.trucks).ravel(),
            np.where(_shared(grid), taken.sites - 1.0, 0.0),
            goals,
        ]
    )


def _shared(grid: Grid) -> Mask:
    """Sites that more than one demand could serve; the others need no price."""
    served = np.bincount(grid.sites.ravel(), minlength=grid.site_count + 1)
    return np.asarray(served[:-1] > 1)


def _moved(start: Prices, excess: Floats, far: float) -> Prices:
    """The prices one step on, none below zero."""
    line = np.concatenate([start.stocks, start.trucks.ravel(), start.sites, start.held])
    uphill = np.where((line > 0) | (excess > 0), excess, 0.0)
    square = float(uphill @ uphill)
    line = np.maximum(0.0, line + (far / square if square else 0.0) * excess)
    stocks, trucks, sites, goals = np.split(
        line, np.cumsum([start.stocks.size, start.trucks.size, start.sites.size])
    )
    return Prices(stocks, trucks.reshape(start.trucks.shape), sites, goals)
