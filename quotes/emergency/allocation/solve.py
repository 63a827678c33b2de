"""Picking the best plan: one goal after the other, each kept while the next is improved.

Goals, in this order: pins honoured; the load served at rank 1, at rank 2, and so on; hours of
lateness; sites that keep the set of the plan in force; kilometres. Each is a mixed-integer
programme solved by HiGHS to proven optimum, or to a stated gap when time runs out.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quotes.emergency.allocation.columns import Gift, Trip, gifts, in_time, split_stocks, trips
from quotes.emergency.allocation.problem import Problem, Stock
from quotes.emergency.allocation.programme import SMALL, Goal, Programme, Row, goal_of
from quotes.emergency.allocation.rows import gift_rows, goal_costs, rows, truck_hours
from quotes.emergency.allocation.trucks import drive

Floats = NDArray[np.float64]
GUIDE = 1e-3
PATIENCE = 0.7  # of the time left for each goal in turn
TRUCK_SHARES = (1.0, 0.9, 0.8)  # of the hours of all trucks, tried in turn


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


@dataclass(frozen=True, slots=True)
class _Question:
    problem: Problem
    stocks: tuple[Stock, ...]
    given: list[Gift]
    driven: list[Trip]


def plan(
    problem: Problem, *, seconds: float = 20.0, clock: Callable[[], float] = time.monotonic
) -> Plan:
    """Solve the problem within about ``seconds``; the clock only bounds the effort."""
    began = clock()
    stocks = split_stocks(problem)
    given = gifts(problem, stocks)
    driven = trips(problem, given)
    given = in_time(given, driven)
    if not driven:
        return Plan((), tuple(site.key for site in problem.sites), (), clock() - began)
    question = _Question(problem, stocks, given, driven)
    stages = goal_costs(problem, given, driven)
    ranks = [stage for stage in stages if stage[0].startswith(("pins", "rank"))]
    programme = Programme(len(given) + len(driven), rows(problem, stocks, given, driven))
    goals = _ranks_first(question, ranks, programme, seconds / 3)
    rest = stages[len(goals) :]
    for number, (name, costs) in enumerate(rest):
        left = max(0.2, seconds - (clock() - began))
        guide = GUIDE * rest[number + 1][1] if number + 1 < len(rest) else None
        goals.append(programme.improve(name, costs, left * PATIENCE, guide))
    deliveries = _deliveries(problem, stocks, given, driven, programme.chosen())
    served = {key for delivery in deliveries for key in delivery.sites}
    unmet = tuple(site.key for site in problem.sites if site.key not in served)
    return Plan(deliveries, unmet, tuple(goals), clock() - began)


def _ranks_first(
    question: _Question,
    ranks: list[tuple[str, Floats]],
    programme: Programme,
    seconds: float,
) -> list[Goal]:
    """Serve the ranks without regard to trucks, then see whether the trucks can do it in time.

    Leaving the trucks out can only serve more, so a plan that the trucks can carry is proven best.
    Where they cannot, a small programme is searched whole; in a large one the hours of the trucks
    are counted in, and what is lost against the plan without trucks is the stated gap.
    """
    bounds, chosen = _gifts_alone(question, ranks, seconds / 2, ())
    start = drive(question.problem, question.given, question.driven, chosen)
    if not start.complete and len(programme.values) <= SMALL:
        return []
    for share in TRUCK_SHARES if not start.complete else ():
        hours = truck_hours(question.problem, question.given, question.driven, share)
        _, chosen = _gifts_alone(question, ranks, seconds / 8, hours)
        start = drive(question.problem, question.given, question.driven, chosen)
        if start.complete:
            break
    goals = [
        goal_of(name, float(costs @ start.values), -bound.bound)
        for (name, costs), bound in zip(ranks, bounds, strict=True)
    ]
    for (_, costs), goal in zip(ranks, goals, strict=True):
        programme.fix(costs, -goal.value, start.values)
    return goals


def _gifts_alone(
    question: _Question, ranks: list[tuple[str, Floats]], seconds: float, extra: Sequence[Row]
) -> tuple[list[Goal], list[int]]:
    """The ranks served by gifts alone, and the gifts taken."""
    size = len(question.given)
    loose = Programme(size, [*gift_rows(question.problem, question.stocks, question.given), *extra])
    goals = [loose.improve(name, costs[:size], seconds / len(ranks)) for name, costs in ranks]
    return goals, loose.chosen()


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
