"""The manager's tools: fleet, rate cards, fees, taxes, tables as CSV, comparison, webhooks,
emergencies."""

from quotes.admin import emergency, fleet, orders, rates, webhooks

__all__ = ["emergency", "fleet", "orders", "rates", "webhooks"]
