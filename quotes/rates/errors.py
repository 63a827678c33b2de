"""Refusals about rate cards."""

from __future__ import annotations

from quotes.pricing.errors import PricingError


class NoRateCard(PricingError):
    code = "no_rate_card"
