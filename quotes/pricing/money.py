"""The one rounding of money, and how money is written."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal

CENT = Decimal("0.01")
ZERO = Decimal("0.00")


def cents(amount: Decimal | int) -> Decimal:
    """Whole cents, halves away from zero: the only rounding a price ever goes through."""
    return Decimal(amount).quantize(CENT, rounding=ROUND_HALF_UP)


def total(amounts: Iterable[Decimal]) -> Decimal:
    """Sum of amounts that are already rounded."""
    return sum(amounts, ZERO)


def percent_of(percent: Decimal, amount: Decimal) -> Decimal:
    """A percentage of an amount, rounded once."""
    return cents(amount * percent / 100)


def dollars(amount: Decimal) -> str:
    """``1234.5`` as ``1,234.50``; a negative amount keeps its sign in front."""
    return f"{cents(amount):,.2f}"
