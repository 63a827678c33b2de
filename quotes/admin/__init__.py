"""The manager's tools: fleet, rate cards, fees, taxes, tables as CSV, comparison, webhooks."""

from quotes.admin import fleet, orders, rates, webhooks

__all__ = ["fleet", "orders", "rates", "webhooks"]
