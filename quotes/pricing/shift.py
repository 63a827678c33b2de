"""Engine hours: a set that runs more than one shift wears more, and is charged for it.

Base hours are 8 a day, 40 a week, 160 in four weeks; double shift 1.5 and triple shift 2 times
the single-shift price, an hour over the base at the hire divided by its base hours. All of it is
common practice, no source, and the owner's data; the customer gets the cheapest that fits.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from quotes.pricing.period import Covering


@dataclass(frozen=True, slots=True)
class ShiftRule:
    """The owner's rule: base hours and the factors of a second and a third shift."""

    day_hours: Decimal = Decimal(8)
    week_hours: Decimal = Decimal(40)
    four_week_hours: Decimal = Decimal(160)
    double_factor: Decimal = Decimal("1.5")
    triple_factor: Decimal = Decimal(2)


@dataclass(frozen=True, slots=True)
class ShiftCharge:
    """What running hours come to: ``factor`` x hire + ``excess_hours`` at ``hour_price``."""

    name: str
    factor: Decimal
    included_hours: Decimal
    excess_hours: Decimal
    hour_price: Decimal
    price: Decimal


def base_hours(covering: Covering, rule: ShiftRule) -> Decimal:
    """Engine hours that the single-shift price of a covering includes."""
    return (
        covering.four_weeks * rule.four_week_hours
        + covering.weeks * rule.week_hours
        + covering.days * rule.day_hours
    )


def shift_charge(covering: Covering, planned_hours: Decimal, rule: ShiftRule) -> ShiftCharge:
    """The cheapest of single, double and triple shift for the hours planned."""
    base = base_hours(covering, rule)
    shifts = (
        ("single", Decimal(1), base),
        ("double", rule.double_factor, 2 * base),
        ("triple", rule.triple_factor, max(planned_hours, 3 * base)),
    )
    hour_price = covering.price / base
    charges = [
        _charge(name, factor, included, planned_hours, covering.price, hour_price)
        for name, factor, included in shifts
    ]
    return min(charges, key=lambda charge: (charge.price, charge.factor))


def _charge(
    name: str,
    factor: Decimal,
    included: Decimal,
    planned: Decimal,
    hire: Decimal,
    hour_price: Decimal,
) -> ShiftCharge:
    excess = max(Decimal(0), planned - included)
    price = factor * hire + excess * hour_price
    return ShiftCharge(name, factor, included, excess, hour_price, price)
