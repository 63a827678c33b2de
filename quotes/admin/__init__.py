"""The manager's tools: fleet, rate cards, fees, taxes, tables as CSV, comparison, keys,
webhooks, emergencies."""

from quotes.admin import emergency, fleet, keys, orders, rates, webhooks

__all__ = ["emergency", "fleet", "keys", "orders", "rates", "webhooks"]
