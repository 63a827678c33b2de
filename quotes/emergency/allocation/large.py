"""A large plan: bounds from the relaxation, plans from small searches that the relaxation leads.

1. ``ranks``: the ranks served without regard to trucks bound what can be served at all.
2. The relaxation says what each set and each hour of a truck is worth. The gifts that are cheapest
   at these prices, put on the trucks, are a first plan that is close to the best.
3. Searches over few columns improve it: its own trips, then what the relaxation uses, then what
   costs little more. Each later goal goes the same way, with those before it held.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Sequence

import numpy as np

from quotes.emergency.allocation.columns import Gift, Trip
from quotes.emergency.allocation.matrix import Floats, Mask, Matrix, search
from quotes.emergency.allocation.problem import Problem, Stock
from quotes.emergency.allocation.programme import Goal, Programme, goal_of
from quotes.emergency.allocation.rows import gift_rows, rows
from quotes.emergency.allocation.sifting import Relaxed, Sifter
from quotes.emergency.allocation.trucks import drive

Stage = tuple[str, Floats]
GUIDE = 1e-3
LOSS = 1e3  # what a unit of the last rank is worth in hours or kilometres; tenfold for each above
NEAREST = 2  # yards whose trips are open at first
KEPT = 3000  # columns of the last search


class Large:
    """One large problem under way; ``values`` is the plan so far."""

    def __init__(
        self, problem: Problem, stocks: tuple[Stock, ...], given: list[Gift], driven: list[Trip]
    ) -> None:
        self.problem, self.stocks, self.given, self.driven = problem, stocks, given, driven
        self.matrix = Matrix(len(given) + len(driven), rows(problem, stocks, given, driven))
        self.values: Floats = np.zeros(self.matrix.count)

    def solve(self, firsts: Sequence[Stage], rest: Sequence[Stage], seconds: float) -> list[Goal]:
        """All goals in turn: the ranks, lateness, and what follows."""
        until = time.monotonic() + seconds
        loose, bounds = self._ranks(firsts, seconds / 8)
        for number, ((_, costs), bound) in enumerate(zip(firsts, bounds, strict=True)):
            weight = LOSS * 10.0 ** (len(firsts) - number)
            self.matrix.hold(costs, -bound.value, weight)
        self._drive(loose.chosen(), rest[0][1])
        self.sifter = Sifter(self.matrix, self._first_open())
        goals = [self._first(loose, rest, until)]
        reached = [
            goal_of(name, float(costs @ self.values), -min(bound.bound, self._at_most(costs)))
            for (name, costs), bound in zip(firsts, bounds, strict=True)
        ]
        for number in range(1, len(rest)):
            goals.append(self._next(rest, number, until))
        return [*reached, *goals]

    def _ranks(self, firsts: Sequence[Stage], seconds: float) -> tuple[Programme, list[Goal]]:
        size = len(self.given)
        loose = Programme(size, gift_rows(self.problem, self.stocks, self.given))
        loose.values = first_gifts(self.problem, self.stocks, self.given)
        each = seconds / len(firsts)
        return loose, [loose.improve(name, costs[:size], each) for name, costs in firsts]

    def _at_most(self, costs: Floats) -> float:
        """What is reached at most if every demand gets its best: finite where no time is left."""
        best: dict[int, float] = {}
        for gift, cost in zip(self.given, costs, strict=False):
            best[gift.demand] = max(best.get(gift.demand, 0.0), -float(cost))
        return sum(best.values())

    def _first_open(self) -> Mask:
        """The trips from the nearest yards, with their gifts, and the plan so far."""
        far: dict[int, dict[str, float]] = {}
        for trip in self.driven:
            demand, yard, count = trip.trip_set
            far.setdefault(demand, {})[yard] = trip.distance_km / count
        near = {d: set(sorted(yards, key=yards.__getitem__)[:NEAREST]) for d, yards in far.items()}
        sets = [gift.trip_set for gift in self.given] + [trip.trip_set for trip in self.driven]
        opened = np.array([yard in near[demand] for demand, yard, _ in sets])
        return np.asarray(opened | (self.values > 0.5))

    def _first(self, loose: Programme, rest: Sequence[Stage], until: float) -> Goal:
        """The first goal after the ranks: bound, a plan led by the prices, searches around it."""
        (name, costs), guided = rest[0], _guided(rest, 0)
        seconds = until - time.monotonic()
        relaxed = self.sifter.solve(guided, seconds / 2)
        self._led(loose, relaxed, guided, seconds / 10)
        self._around(relaxed, guided, (until - time.monotonic()) / 2)
        bound = self.sifter.solve(costs, (until - time.monotonic()) / 3).bound
        return self._reached(name, costs, bound)

    def _led(self, loose: Programme, relaxed: Relaxed, costs: Floats, seconds: float) -> None:
        """The gifts that are cheapest at the prices of the relaxation, put on the trucks."""
        loose.cheapest(self._gift_prices(relaxed), seconds)
        self._drive(loose.chosen(), costs)
        taken = {self.given[i].trip_set for i in loose.chosen()}
        own = [i for i, t in enumerate(self.driven, start=len(self.given)) if t.trip_set in taken]
        columns = np.array([*loose.chosen(), *own], dtype=np.int64)
        self.values = search(self.matrix, costs, columns, self.values, seconds)

    def _drive(self, chosen: list[int], costs: Floats) -> None:
        """Put gifts on the trucks, by urgency and by rank; keep what is better than before."""
        for ranks_first in (False, True):
            found = drive(
                self.problem, self.given, self.driven, chosen, ranks_first=ranks_first
            ).values
            if self.matrix.total(costs, found) < self.matrix.total(costs, self.values):
                self.values = found

    def _gift_prices(self, relaxed: Relaxed) -> Floats:
        """What a gift costs with its cheapest trip, less what the relaxation takes of it."""
        extra = np.maximum(0.0, relaxed.reduced)
        least: dict[tuple[int, str, int], float] = {}
        for index, trip in enumerate(self.driven, start=len(self.given)):
            cost = float(extra[index])
            if cost < least.get(trip.trip_set, np.inf):
                least[trip.trip_set] = cost
        trips = np.array([least[gift.trip_set] for gift in self.given])
        return np.asarray(extra[: len(self.given)] + trips - 0.5 * relaxed.taken[: len(self.given)])

    def _around(self, relaxed: Relaxed, costs: Floats, seconds: float) -> None:
        """Search what the relaxation uses, then all that costs little more."""
        until = time.monotonic() + seconds
        used = relaxed.taken > 1e-9
        self.values = search(self.matrix, costs, np.nonzero(used)[0], self.values, seconds / 3)
        kept = min(KEPT, len(costs) - 1)
        most = max(1e-9, float(np.partition(relaxed.reduced, kept)[kept]))
        near = np.nonzero(used | (relaxed.reduced <= most))[0]
        self.values = search(self.matrix, costs, near, self.values, until - time.monotonic())

    def _next(self, rest: Sequence[Stage], number: int, until: float) -> Goal:
        """A later goal, those before it held."""
        _, before = rest[number - 1]
        self.sifter.hold(before, float(before @ self.values) + 1e-6, LOSS)
        name, costs = rest[number]
        share = (until - time.monotonic()) / (len(rest) - number)
        relaxed = self.sifter.solve(costs, share / 2)
        self._around(relaxed, costs, share / 2)
        return self._reached(name, costs, relaxed.bound)

    def _reached(self, name: str, costs: Floats, bound: float) -> Goal:
        value = float(costs @ self.values)
        least = 0.0 if costs.min() >= 0 else -np.inf
        return goal_of(name, value, min(value, max(least, bound)))


def first_gifts(problem: Problem, stocks: tuple[Stock, ...], given: Sequence[Gift]) -> Floats:
    """A plan to start from that no lack of time can take away: by rank, pins first.

    Within a rank those with the fewest ways to be served choose first, and take the largest share.
    """
    rank = {site.key: 0 if site.key in problem.pinned else site.rank for site in problem.sites}
    ways = Counter(gift.demand for gift in given)
    left = [len(stock.units) for stock in stocks]
    served: set[str] = set()
    values = np.zeros(len(given))

    def order(index: int) -> tuple[int, float, int, int]:
        gift = given[index]
        first = min(rank[key] for key in problem.demands[gift.demand].sites)
        return first, -gift.option.share, ways[gift.demand], gift.option.count

    for index in sorted(range(len(given)), key=order):
        sites, wanted = problem.demands[given[index].demand].sites, Counter(given[index].stocks)
        if served.isdisjoint(sites) and all(left[s] >= n for s, n in wanted.items()):
            values[index] = 1.0
            served.update(sites)
            for stock, count in wanted.items():
                left[stock] -= count
    return values


def _guided(rest: Sequence[Stage], number: int) -> Floats:
    """A goal with a little of the next, to tell columns of equal cost apart."""
    costs = rest[number][1]
    return costs + GUIDE * rest[number + 1][1] if number + 1 < len(rest) else costs
