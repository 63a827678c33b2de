"""What must hold and what is wanted, in columns: all gifts first, then all trips."""

from __future__ import annotations

from collections import Counter, defaultdict

import numpy as np
from numpy.typing import NDArray

from quotes.emergency.allocation.columns import Gift, Trip
from quotes.emergency.allocation.problem import Problem, Stock
from quotes.emergency.allocation.programme import Row

Entries = dict[int, float]


def rows(
    problem: Problem, stocks: tuple[Stock, ...], given: list[Gift], driven: list[Trip]
) -> list[Row]:
    """A site served once, no set given twice, a trip for each gift, no truck on two trips."""
    return [
        *_site_rows(problem, given),
        *_stock_rows(stocks, given),
        *_trip_rows(given, driven),
        *_free_rows(given, driven),
        *_truck_rows(problem, len(given), driven),
    ]


def _site_rows(problem: Problem, given: list[Gift]) -> list[Row]:
    at_site: defaultdict[str, Entries] = defaultdict(dict)
    for index, gift in enumerate(given):
        for key in problem.demands[gift.demand].sites:
            at_site[key][index] = 1.0
    return [Row(None, 1.0, entries) for entries in at_site.values()]


def _stock_rows(stocks: tuple[Stock, ...], given: list[Gift]) -> list[Row]:
    of_stock: defaultdict[int, Entries] = defaultdict(dict)
    for index, gift in enumerate(given):
        for stock, times in Counter(gift.stocks).items():
            of_stock[stock][index] = float(times)
    return [Row(None, float(len(stocks[s].units)), entries) for s, entries in of_stock.items()]


def _trip_rows(given: list[Gift], driven: list[Trip]) -> list[Row]:
    """As many trips of a trip set as gifts of it."""
    tied: defaultdict[tuple[int, str, int], Entries] = defaultdict(dict)
    for index, gift in enumerate(given):
        tied[gift.trip_set][index] = 1.0
    for index, trip in enumerate(driven, start=len(given)):
        tied[trip.trip_set][index] = -1.0
    return [Row(0.0, 0.0, entries) for entries in tied.values()]


def _free_rows(given: list[Gift], driven: list[Trip]) -> list[Row]:
    """A trip that leaves before slot f carries a set that is free before slot f."""
    starts: defaultdict[tuple[int, str, int], list[tuple[int, int]]] = defaultdict(list)
    for index, gift in enumerate(given):
        starts[gift.trip_set].append((gift.first_slot, index))
    leaves: defaultdict[tuple[int, str, int], list[tuple[int, int]]] = defaultdict(list)
    for index, trip in enumerate(driven, start=len(given)):
        leaves[trip.trip_set].append((trip.slot, index))
    found: list[Row] = []
    for trip_set, gifts_of in starts.items():
        _, *later = sorted({slot for slot, _ in gifts_of})
        for free in later:
            entries = {i: 1.0 for slot, i in leaves[trip_set] if slot < free}
            entries |= {i: -1.0 for slot, i in gifts_of if slot < free}
            found.append(Row(None, 0.0, entries))
    return found


def _truck_rows(problem: Problem, offset: int, driven: list[Trip]) -> list[Row]:
    on_road: defaultdict[tuple[str, int], Entries] = defaultdict(dict)
    for index, trip in enumerate(driven, start=offset):
        _, yard, count = trip.trip_set
        for slot in range(trip.slot, trip.slot + trip.away):
            on_road[yard, slot][index] = float(count)
    yards = {yard.key: yard for yard in problem.yards}
    return [
        Row(None, float(problem.trucks_in(yards[key], slot)), entries)
        for (key, slot), entries in on_road.items()
    ]


def goal_costs(
    problem: Problem, given: list[Gift], driven: list[Trip]
) -> list[tuple[str, NDArray[np.float64]]]:
    """The goals in order, each as a cost to be made small."""
    ranks = {site.key: site.rank for site in problem.sites}
    none_g, none_t = np.zeros(len(given)), np.zeros(len(driven))
    found = []
    if problem.pinned:
        pins = [-float(_pins(problem, g)) for g in given]
        found.append(("pins", np.concatenate([pins, none_t])))
    for rank in sorted(set(ranks.values())):
        served = [
            -g.option.share * sum(ranks[key] == rank for key in problem.demands[g.demand].sites)
            for g in given
        ]
        found.append((f"rank {rank}", np.concatenate([served, none_t])))
    found.append(("lateness", np.concatenate([none_g, [t.late_h for t in driven]])))
    if problem.before:
        kept = [-float(g.kept) for g in given]
        found.append(("kept", np.concatenate([kept, none_t])))
    found.append(("distance", np.concatenate([none_g, [t.distance_km for t in driven]])))
    return found


def _pins(problem: Problem, gift: Gift) -> int:
    """Pins that a gift honours; a gift against a pin is none of the columns."""
    return sum(key in problem.pinned for key in problem.demands[gift.demand].sites)
