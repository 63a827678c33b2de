"""A first timetable: trips put on the trucks one by one, the most urgent first."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quotes.emergency.allocation.columns import Gift, Trip
from quotes.emergency.allocation.problem import Problem


@dataclass(frozen=True, slots=True)
class Timetable:
    """Columns of a whole plan; ``complete`` is false where some gift found no truck in time."""

    values: NDArray[np.float64]
    complete: bool


def drive(
    problem: Problem,
    given: list[Gift],
    driven: list[Trip],
    chosen: list[int],
    *,
    ranks_first: bool = False,
) -> Timetable:
    """A timetable for the chosen gifts; those that find no truck in time are left out.

    The latest a trip may leave and still be on time decides the order, within the ranks where
    ``ranks_first``; each takes the first slot in which its yard has a truck for the whole trip.
    """
    rank = _ranks(problem) if ranks_first else [0] * len(problem.demands)
    by_set: defaultdict[tuple[int, str, int], list[tuple[Trip, int]]] = defaultdict(list)
    for index, trip in enumerate(driven, start=len(given)):
        by_set[trip.trip_set].append((trip, index))
    free = {yard.key: yard.trucks for yard in problem.yards}
    away: defaultdict[tuple[str, int], int] = defaultdict(int)
    values = np.zeros(len(given) + len(driven))

    def order(index: int) -> tuple[int, int]:
        return rank[given[index].demand], _urgency(by_set[given[index].trip_set])

    for gift_index in sorted(chosen, key=order):
        gift = given[gift_index]
        found = _first_free(gift, by_set[gift.trip_set], away, free[gift.trip_set[1]])
        if found is not None:
            _take(found[0], away)
            values[[gift_index, found[1]]] = 1.0
    return Timetable(values, bool(values[: len(given)].sum() == len(chosen)))


def _ranks(problem: Problem) -> list[int]:
    """The highest rank each demand serves; a pin goes before all."""
    rank = {site.key: 0 if site.key in problem.pinned else site.rank for site in problem.sites}
    return [min((rank[key] for key in demand.sites), default=9) for demand in problem.demands]


def _urgency(found: list[tuple[Trip, int]]) -> int:
    """The last slot that is still on time; the first slot of all where none is."""
    return max((trip.slot for trip, _ in found if trip.late_h == 0), default=-1)


def _first_free(
    gift: Gift, found: list[tuple[Trip, int]], away: dict[tuple[str, int], int], trucks: int
) -> tuple[Trip, int] | None:
    _, yard, count = gift.trip_set
    for trip, index in found:
        slots = range(trip.slot, trip.slot + trip.away)
        if trip.slot >= gift.first_slot and all(away[yard, s] + count <= trucks for s in slots):
            return trip, index
    return None


def _take(trip: Trip, away: dict[tuple[str, int], int]) -> None:
    _, yard, count = trip.trip_set
    for slot in range(trip.slot, trip.slot + trip.away):
        away[yard, slot] += count
