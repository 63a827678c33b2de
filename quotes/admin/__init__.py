"""The manager's tools: fleet, rate cards, fees, taxes, tables as CSV, comparison of cards."""

from quotes.admin import fleet, orders, rates

__all__ = ["fleet", "orders", "rates"]
