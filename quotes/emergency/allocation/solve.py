"""Picking the best plan: one goal after the other, each kept while the next is improved.

Goals, in this order: pins honoured; the load served at rank 1, at rank 2, and so on; hours of
lateness; sites that keep the set of the plan in force; kilometres. Each is a mixed-integer
programme solved by HiGHS to proven optimum, or to a stated gap when time runs out.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from quotes.emergency.allocation.columns import Driving, Gift, Trip, gifts, split_stocks, trips
from quotes.emergency.allocation.grid import Grid, grid_of
from quotes.emergency.allocation.large import Large
from quotes.emergency.allocation.problem import Problem, Stock
from quotes.emergency.allocation.programme import Goal, Programme
from quotes.emergency.allocation.rows import goal_costs, rows

Chosen = tuple[Gift, Trip]
SMALL = 4000  # gifts and departures that are searched whole at once
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
    found = gifts(problem, stocks)
    grid = grid_of(problem, stocks, found)
    if grid is None:
        return Plan((), tuple(site.key for site in problem.sites), (), clock() - began)
    solved = _small if _columns(grid) <= SMALL else _large
    made, goals = solved(problem, stocks, grid, seconds - (clock() - began), clock)
    deliveries = _deliveries(problem, stocks, made)
    served = {key for delivery in deliveries for key in delivery.sites}
    unmet = tuple(site.key for site in problem.sites if site.key not in served)
    return Plan(deliveries, unmet, tuple(goals), clock() - began)


def _columns(grid: Grid) -> int:
    """Gifts and departures."""
    return grid.count + int(np.isfinite(grid.routes.late_h).sum())


def _small(
    problem: Problem,
    stocks: tuple[Stock, ...],
    grid: Grid,
    seconds: float,
    clock: Callable[[], float],
) -> tuple[list[Chosen], list[Goal]]:
    """A small problem: each goal searched whole and then held."""
    given = list(grid.given)
    driven = trips(problem, given)
    programme = Programme(len(given) + len(driven), rows(problem, stocks, given, driven))
    until = clock() + seconds
    goals = [
        programme.improve(name, costs, max(0.2, until - clock()) * PATIENCE)
        for name, costs in goal_costs(problem, given, driven)
    ]
    chosen = programme.chosen()
    trip_of = {t.trip_set: t for t in (driven[i - len(given)] for i in chosen if i >= len(given))}
    gifts_of = (given[i] for i in chosen if i < len(given))
    return [(gift, trip_of[gift.trip_set]) for gift in gifts_of], goals


def _large(
    problem: Problem,
    stocks: tuple[Stock, ...],
    grid: Grid,
    seconds: float,
    _clock: Callable[[], float],
) -> tuple[list[Chosen], list[Goal]]:
    """A large problem, led by prices."""
    search, driving = Large(problem, stocks, grid), Driving(problem)
    goals = search.solve(seconds)
    chosen = [(grid.given[column // grid.slots], column % grid.slots) for column in search.plan]
    return [(g, driving.trip(driving.route(g.trip_set), int(slot))) for g, slot in chosen], goals


def _deliveries(
    problem: Problem, stocks: tuple[Stock, ...], chosen: list[Chosen]
) -> tuple[Delivery, ...]:
    """Gifts with their trips as deliveries, each with units taken by name from its stock."""
    dealt = _dealt(problem, stocks, [gift for gift, _ in chosen])
    made = [
        Delivery(
            sites=problem.demands[gift.demand].sites,
            set_code=gift.option.set_code,
            units=units,
            yard=gift.trip_set[1],
            depart_h=trip.slot * problem.slot_h,
            arrive_h=trip.arrive_h,
            late_h=trip.late_h,
            distance_km=trip.distance_km,
            share=gift.option.share,
        )
        for (gift, trip), units in zip(chosen, dealt, strict=True)
    ]
    return tuple(sorted(made, key=lambda d: (d.depart_h, d.sites)))


def _dealt(problem: Problem, stocks: tuple[Stock, ...], given: list[Gift]) -> list[tuple[str, ...]]:
    """Units by name for each gift: first whoever had one gets it back, then the rest."""
    left = [list(stock.units) for stock in stocks]
    back: list[dict[int, list[str]]] = []
    for gift in given:
        had = [problem.before.get(key, "") for key in problem.demands[gift.demand].sites]
        back.append({})
        for stock, times in Counter(gift.stocks).items():
            own = [unit for unit in dict.fromkeys(had) if unit in left[stock]][:times]
            left[stock] = [unit for unit in left[stock] if unit not in own]
            back[-1][stock] = own
    return [
        tuple((own[stock] or left[stock]).pop(0) for stock in gift.stocks)
        for gift, own in zip(given, back, strict=True)
    ]
