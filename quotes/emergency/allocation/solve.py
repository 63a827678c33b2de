"""Picking the best plan: one goal after the other, each kept while the next is improved.

Goals, in this order: pins honoured; the load served at rank 1, at rank 2, and so on; hours of
lateness; sites that keep the set of the plan in force; kilometres. Each is a mixed-integer
programme solved by HiGHS to proven optimum, or to a stated gap when time runs out.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quotes.emergency.allocation.columns import Gift, Trip, gifts, in_time, split_stocks, trips
from quotes.emergency.allocation.large import Large
from quotes.emergency.allocation.problem import Problem, Stock
from quotes.emergency.allocation.programme import SMALL, Goal, Programme
from quotes.emergency.allocation.rows import goal_costs, rows

Floats = NDArray[np.float64]
PATIENCE = 0.7  # of the time left for each goal in turn


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
    given = gifts(problem, stocks)
    driven = trips(problem, given)
    given = in_time(given, driven)
    if not given:
        return Plan((), tuple(site.key for site in problem.sites), (), clock() - began)
    stages = goal_costs(problem, given, driven)
    columns = len(given) + len(driven)
    if columns <= SMALL:
        programme = Programme(columns, rows(problem, stocks, given, driven))
        goals = _one_by_one(programme, stages, seconds, clock)
        chosen = programme.chosen()
    else:
        firsts = [stage for stage in stages if stage[0].startswith(("pins", "rank"))]
        search = Large(problem, stocks, given, driven)
        goals = search.solve(firsts, stages[len(firsts) :], seconds - (clock() - began))
        chosen = [int(i) for i in np.nonzero(search.values > 0.5)[0]]
    deliveries = _deliveries(problem, stocks, given, driven, chosen)
    served = {key for delivery in deliveries for key in delivery.sites}
    unmet = tuple(site.key for site in problem.sites if site.key not in served)
    return Plan(deliveries, unmet, tuple(goals), clock() - began)


def _one_by_one(
    programme: Programme,
    stages: list[tuple[str, Floats]],
    seconds: float,
    clock: Callable[[], float],
) -> list[Goal]:
    """A small problem: each goal searched whole and then held."""
    until = clock() + seconds
    return [
        programme.improve(name, costs, max(0.2, until - clock()) * PATIENCE)
        for name, costs in stages
    ]


def _deliveries(
    problem: Problem,
    stocks: tuple[Stock, ...],
    given: list[Gift],
    driven: list[Trip],
    chosen: list[int],
) -> tuple[Delivery, ...]:
    """Chosen gifts with their trips as deliveries, each with units taken by name from its stock."""
    trip_of = {
        driven[i - len(given)].trip_set: driven[i - len(given)] for i in chosen if i >= len(given)
    }
    left = {index: list(stock.units) for index, stock in enumerate(stocks)}
    made: list[Delivery] = []
    for gift in (given[i] for i in chosen if i < len(given)):
        trip = trip_of[gift.trip_set]
        made.append(
            Delivery(
                sites=problem.demands[gift.demand].sites,
                set_code=gift.option.set_code,
                units=tuple(left[stock].pop(0) for stock in gift.stocks),
                yard=gift.trip_set[1],
                depart_h=trip.slot * problem.slot_h,
                arrive_h=trip.arrive_h,
                late_h=trip.late_h,
                distance_km=trip.distance_km,
                share=gift.option.share,
            )
        )
    return tuple(sorted(made, key=lambda d: (d.depart_h, d.sites)))
