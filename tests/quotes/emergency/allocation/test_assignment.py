"""Where each site takes one set of any yard, the plan is a linear assignment."""

from __future__ import annotations

import random

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from quotes.emergency.allocation import Demand, Option, Problem, Site, Stock, Yard, plan
from tests.quotes.emergency.allocation.brute_force import faults, road_km


def county(seed: int, sites: int, sets: int) -> Problem:
    """All of one rank, nobody late, a truck for each set: only kilometres tell plans apart."""
    draw = random.Random(seed)

    def place() -> tuple[float, float]:
        return 40 + draw.uniform(0, 0.8), -95 + draw.uniform(0, 0.8)

    yards = tuple(Yard(f"yard {i}", *place(), trucks=1) for i in range(sets))
    stocks = tuple(
        Stock(yard.key, draw.choice("abc"), (f"unit {i}",)) for i, yard in enumerate(yards)
    )
    places = tuple(Site(f"site {i:02}", 1, 6.0, *place()) for i in range(sites))
    demands = tuple(
        Demand((p.key,), tuple(Option(c) for c in draw.sample("abc", k=2))) for p in places
    )
    return Problem(places, demands, yards, stocks, horizon_h=6.0)


@pytest.mark.parametrize(("sites", "sets"), [(8, 8), (12, 20), (20, 12)])
def test_kilometres_are_those_of_the_linear_assignment(sites: int, sets: int) -> None:
    """Source: scipy.optimize.linear_sum_assignment, an independent library."""
    problem = county(sites * 100 + sets, sites, sets)
    unserved = 1e6  # more than all kilometres together
    cost = np.full((sites, sets + sites), unserved)
    for row, demand in enumerate(problem.demands):
        for column, stock in enumerate(problem.stocks):
            if Option(stock.set_code) in demand.options:
                cost[row, column] = road_km(problem, stock.yard, demand.sites[0])
    rows, columns = linear_sum_assignment(cost)
    taken = cost[rows, columns]

    made = plan(problem, seconds=20)

    assert faults(problem, made) == []
    assert len(made.deliveries) == int((taken < unserved).sum())
    km = sum(delivery.distance_km for delivery in made.deliveries)
    assert km == pytest.approx(float(taken[taken < unserved].sum()), rel=1e-6)
