"""The hire period: which days are charged, and the cheapest way to cover them.

A hire of n days is covered by four-week, week and day prices so that the customer pays least;
covering more days than asked is allowed where it is cheaper (six days at the price of a week).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

DAYS_OF_WEEK = 7
DAYS_OF_FOUR_WEEKS = 28
LONGEST_HIRE_DAYS = 1830


@dataclass(frozen=True, slots=True)
class Rate:
    """Prices of one piece for a day, a week, four weeks; ``once`` where it is sold, not hired."""

    day: Decimal
    week: Decimal
    four_weeks: Decimal
    once: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Covering:
    """So many four-weeks, weeks and days, and what they cost together."""

    four_weeks: int
    weeks: int
    days: int
    price: Decimal

    @property
    def covered_days(self) -> int:
        return DAYS_OF_FOUR_WEEKS * self.four_weeks + DAYS_OF_WEEK * self.weeks + self.days

    @property
    def pieces(self) -> int:
        return self.four_weeks + self.weeks + self.days

    def words(self) -> str:
        """``1 week + 2 days``."""
        parts = [
            _counted(self.four_weeks, "four-week period"),
            _counted(self.weeks, "week"),
            _counted(self.days, "day"),
        ]
        return " + ".join(part for part in parts if part)


def _counted(count: int, noun: str) -> str:
    if not count:
        return ""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def cheapest_covering(days: int, rate: Rate) -> Covering:
    """The covering of ``days`` that costs least.

    Among equals the one that covers fewest days, then the one of fewest pieces.

    For a given number of four-week periods the price falls or rises evenly with each week more,
    so only no week, the whole weeks that fit, and one week beyond can be cheapest.
    """
    if not 1 <= days <= LONGEST_HIRE_DAYS:
        raise ValueError(f"{days} days is outside 1 to {LONGEST_HIRE_DAYS}")
    return min(
        (
            _covering(days, four_weeks, weeks, rate)
            for four_weeks in range(-(-days // DAYS_OF_FOUR_WEEKS) + 1)
            for weeks in _weeks_worth_trying(days - DAYS_OF_FOUR_WEEKS * four_weeks)
        ),
        key=lambda covering: (covering.price, covering.covered_days, covering.pieces),
    )


def _weeks_worth_trying(rest_days: int) -> set[int]:
    if rest_days <= 0:
        return {0}
    return {0, rest_days // DAYS_OF_WEEK, -(-rest_days // DAYS_OF_WEEK)}


def _covering(days: int, four_weeks: int, weeks: int, rate: Rate) -> Covering:
    rest = max(0, days - DAYS_OF_FOUR_WEEKS * four_weeks - DAYS_OF_WEEK * weeks)
    price = four_weeks * rate.four_weeks + weeks * rate.week + rest * rate.day
    return Covering(four_weeks, weeks, rest, price)


@dataclass(frozen=True, slots=True)
class ChargedDays:
    """The days of a hire, those not charged and why, and the number that is priced."""

    hire_days: int
    free_days: tuple[tuple[date, str], ...]
    minimum_days: int

    @property
    def charged(self) -> int:
        return max(self.hire_days - len(self.free_days), self.minimum_days, 1)


def hire_days(start: date, end: date) -> int:
    """Days from ``start`` to ``end``; both belong to the hire."""
    return (end - start).days + 1
