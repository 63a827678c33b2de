"""Prices of what is scarce, and the bound of a goal that follows from any of them.

A price is put on each set of a stock, each slot of a truck of a yard, each site that several
demands could serve, and each unit of a goal held. Whoever takes pays; then every demand can choose
for itself, and ``priced`` does so for all of them at once.

Why it bounds the goal: take any plan that keeps all limits. What it pays is at most what the limits
are worth in all, so its cost is at least cost plus payments less that worth; and since each demand
uses at most one column, cost plus payments is at least the sum over the demands of their cheapest
column, or of nothing. This holds for any prices not below zero (Lagrangean relaxation: Geoffrion,
Mathematical Programming Study 2, 1974; cited from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from quotes.emergency.allocation.grid import Floats, Grid, Whole


@dataclass(frozen=True, slots=True)
class Cost:
    """A goal as a cost to be made small: of each gift, and of each route's departures."""

    gift: Floats
    trip: Floats  # [route, 1] where the hour does not matter, else [route, slot]

    def plus(self, other: Cost, weight: float) -> Cost:
        return Cost(self.gift + weight * other.gift, self.trip + weight * other.trip)

    def of(self, grid: Grid, columns: Whole) -> Floats:
        """The cost of each of these columns."""
        gift, slot = grid.gift_of(columns), grid.slot_of(columns)
        trip = self.trip[grid.route[gift], slot if self.trip.shape[1] > 1 else 0]
        return np.asarray(self.gift[gift] + trip)

    def total(self, grid: Grid, columns: Whole) -> float:
        return float(self.of(grid, columns).sum())


@dataclass(frozen=True, slots=True)
class Held:
    """A goal that was reached: the sum of its costs stays at or below ``value``."""

    cost: Cost
    value: float


@dataclass(frozen=True, slots=True)
class Prices:
    """None below zero. ``held`` has one entry for each goal held."""

    stocks: Floats
    trucks: Floats  # [yard, slot]
    sites: Floats
    held: Floats

    @staticmethod
    def none(grid: Grid, held: int = 0) -> Prices:
        return Prices(
            np.zeros(len(grid.limits.stocks)),
            np.zeros_like(grid.limits.trucks),
            np.zeros(grid.site_count),
            np.zeros(held),
        )

    def towards(self, other: Prices, part: float) -> Prices:
        """Prices that lie ``part`` of the way to others."""
        return Prices(
            self.stocks + part * (other.stocks - self.stocks),
            self.trucks + part * (other.trucks - self.trucks),
            self.sites + part * (other.sites - self.sites),
            self.held + part * (other.held - self.held),
        )

    def worth(self, grid: Grid, held: Sequence[Held]) -> float:
        """What the limits are worth in all."""
        goals = sum(float(p) * h.value for p, h in zip(self.held, held, strict=True))
        stocks = float(self.stocks @ grid.limits.stocks)
        trucks = float((self.trucks * grid.limits.trucks).sum())
        return stocks + trucks + float(self.sites.sum()) + goals


@dataclass(frozen=True, slots=True)
class Priced:
    """What each demand would do: ``bound`` of the goal, and the columns that pay for themselves.

    ``gift`` is the cost and payment of each gift with its best departure, ``trip`` that of the
    departures alone, infinite where it would be too late.
    """

    bound: float
    gift: Floats
    trip: Floats
    own: Floats  # of the gifts without a departure
    least: Floats  # by gift: of its demand, at most 0

    def columns(self, grid: Grid) -> Whole:
        """The cheapest column of each demand that has one below zero."""
        gifts = np.nonzero((self.gift <= self.least) & (self.least < 0))[0]
        _, firsts = np.unique(grid.demand[gifts], return_index=True)
        return self.departures(grid, gifts[firsts])

    def departures(self, grid: Grid, gifts: Whole) -> Whole:
        """These gifts with the departure that is cheapest for each."""
        costs = self.trip[grid.route[gifts]].copy()
        costs[np.arange(grid.slots)[None, :] < grid.first[gifts][:, None]] = np.inf
        return np.asarray(gifts * grid.slots + costs.argmin(axis=1))

    def more(self, grid: Grid, columns: Whole) -> Floats:
        """What each of these columns costs more than its demand's best."""
        gifts = grid.gift_of(columns)
        costs = self.own[gifts] + self.trip[grid.route[gifts], grid.slot_of(columns)]
        return np.asarray(costs - self.least[gifts])


def priced(grid: Grid, cost: Cost, held: Sequence[Held], prices: Prices) -> Priced:
    """Let every demand choose for itself at these prices."""
    for one, price in zip(held, prices.held, strict=True):
        cost = cost.plus(one.cost, float(price)) if price else cost
    trip = cost.trip + _truck_payments(grid, prices.trucks)
    trip[~np.isfinite(grid.routes.late_h)] = np.inf
    best = np.minimum.accumulate(trip[:, ::-1], axis=1)[:, ::-1]
    own = cost.gift + (prices.stocks[grid.stocks] * grid.times).sum(axis=1)
    if prices.sites.any():
        own += np.append(prices.sites, 0.0)[grid.sites].sum(axis=1)[grid.demand]
    gift = own + best[grid.route, grid.first]
    starts = np.nonzero(np.diff(grid.demand, prepend=-1))[0]
    least = np.minimum(0.0, np.minimum.reduceat(gift, starts))
    bound = float(least.sum()) - prices.worth(grid, held)
    return Priced(bound, gift, trip, own, np.repeat(least, np.diff([*starts, grid.count])))


def _truck_payments(grid: Grid, trucks: Floats) -> Floats:
    """What the trucks of each route and slot cost, over all slots they are away."""
    routes = grid.routes
    until = np.concatenate([np.zeros((len(trucks), 1)), np.cumsum(trucks, axis=1)], axis=1)
    leave = np.arange(grid.slots)[None, :]
    yard = routes.yard[:, None]
    paid = until[yard, leave + routes.away[:, None]] - until[yard, leave]
    return np.asarray(routes.count[:, None] * paid)


def used(grid: Grid, columns: Whole) -> Prices:
    """How much of each limit these columns use, in the shape of the prices; goals held apart."""
    found = Prices.none(grid)
    gift, slot = grid.gift_of(columns), grid.slot_of(columns)
    np.add.at(found.stocks, grid.stocks[gift].ravel(), grid.times[gift].ravel())
    sites = np.zeros(grid.site_count + 1)
    np.add.at(sites, grid.sites[grid.demand[gift]].ravel(), 1.0)
    route = grid.route[gift]
    yard, away = grid.routes.yard[route], grid.routes.away[route]
    at = spans(slot, away)
    np.add.at(found.trucks, (np.repeat(yard, away), at), np.repeat(grid.routes.count[route], away))
    return Prices(found.stocks, found.trucks, sites[:-1], found.held)


def spans(starts: Whole, lengths: Whole) -> Whole:
    """The numbers start, start + 1, ... of each span, one span after another."""
    begins = np.concatenate([[0], np.cumsum(lengths)[:-1]]).astype(np.int64)
    return np.asarray(np.repeat(starts - begins, lengths) + np.arange(int(lengths.sum())))
