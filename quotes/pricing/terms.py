"""What an owner charges, as pricing takes it: one rate card with its fees, vehicles and taxes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import time
from decimal import Decimal
from enum import StrEnum

from quotes.pricing.days import OWNERS_USUAL_HOLIDAYS
from quotes.pricing.errors import RateMissing
from quotes.pricing.period import Rate
from quotes.pricing.shift import ShiftRule


class LineKind(StrEnum):
    """What a line is for; taxes are set by it."""

    HIRE = "hire"
    ACCESSORY = "accessory"
    DELIVERY = "delivery"
    FUEL = "fuel"
    ENVIRONMENTAL = "environmental"
    WAIVER = "waiver"
    LABOUR = "labour"
    EMERGENCY = "emergency"
    ADJUSTMENT = "adjustment"


class FeeCode(StrEnum):
    """Every fee pricing knows; the owner sets the amounts, and leaves out what is not charged."""

    ENVIRONMENTAL = "environmental"  # percent of the hire, capped
    DAMAGE_WAIVER = "damage_waiver"  # percent of the hire
    CONNECTION_HOUR = "connection_hour"  # an hour of labour; quantity is hours a set
    FUEL_GALLON = "fuel_gallon"  # a gallon of diesel
    REFUEL_VISIT = "refuel_visit"  # a visit to refuel
    WEEKEND_MOVE = "weekend_move"  # a delivery or collection on a Saturday or Sunday
    HOLIDAY_MOVE = "holiday_move"  # a delivery or collection on a holiday
    EMERGENCY_UPLIFT = "emergency_uplift"  # percent of the hire, capped
    DEPOSIT = "deposit"  # percent of the total, returned; minimum


@dataclass(frozen=True, slots=True)
class Fee:
    """One fee's amount (or percent), with the least and most it may come to on one quote."""

    amount: Decimal
    minimum: Decimal | None = None
    cap: Decimal | None = None
    quantity: Decimal = Decimal(1)


@dataclass(frozen=True, slots=True)
class Vehicle:
    """A delivery vehicle: what it may tow, its price a trip and a mile beyond those included."""

    code: str
    name: str
    tows_kg: Decimal
    trip: Decimal
    mile: Decimal
    included_miles: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Tax:
    """One tax on one kind of line where the set stands."""

    name: str
    line_kind: str
    percent: Decimal


@dataclass(frozen=True, slots=True)
class Exemption:
    """A certificate on file: its number, the kinds it covers (all where empty), its last day."""

    number: str
    line_kinds: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Terms:
    """Everything a price depends on besides the job."""

    card: str
    rates: Mapping[str, Rate]
    fees: Mapping[str, Fee] = field(default_factory=dict)
    vehicles: tuple[Vehicle, ...] = ()
    taxes: tuple[Tax, ...] = ()
    exemption: Exemption | None = None
    shift: ShiftRule = field(default_factory=ShiftRule)
    section_m: Mapping[str, Decimal] = field(default_factory=dict)
    minimum_days: int = 1
    road_factor: Decimal = Decimal("1.3")
    sundays_free: bool = False
    holidays_free: bool = False
    holidays_kept: tuple[str, ...] = OWNERS_USUAL_HOLIDAYS
    off_hire_cutoff: time = time(10)
    emergency_barred: str = ""
    emergency_agreed: str = ""  # said where an agreement on file holds the uplift down
    valid_days: int = 14

    def rate(self, code: str) -> Rate:
        """The rate of a set or accessory; ``RateMissing`` where the card has none."""
        if code not in self.rates:
            raise RateMissing(code, self.card)
        return self.rates[code]
