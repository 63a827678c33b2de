"""Refusals of pricing: each goes to a person, none becomes a price of zero."""

from __future__ import annotations

from decimal import Decimal


class PricingError(Exception):
    """Root of what stops a job from being priced."""

    code = "pricing_refused"


class RateMissing(PricingError):
    code = "rate_missing"

    def __init__(self, item: str, card: str) -> None:
        super().__init__(f"{item} has no rate on {card}.")
        self.item = item


class TooHeavyToDeliver(PricingError):
    code = "too_heavy_to_deliver"

    def __init__(self, item: str, mass_kg: Decimal) -> None:
        super().__init__(f"No delivery vehicle may tow {item} at {mass_kg:.0f} kg.")
        self.item = item


class HireTooLong(PricingError):
    code = "hire_too_long"
