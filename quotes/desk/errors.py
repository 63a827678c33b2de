"""Refusals about a rep's change of the price."""

from __future__ import annotations

from intake.requests.errors import ServiceRefusal


class AdjustmentTooLarge(ServiceRefusal):
    code = "adjustment_too_large"
    status_code = 422


class QuoteNotOpen(ServiceRefusal):
    code = "quote_not_open"
    sentence = "This quote is not open any more; only an open one can be priced anew."
