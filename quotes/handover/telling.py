"""Telling other systems that a hire changed."""

from __future__ import annotations

from datetime import datetime

from intake.webhooks.services import webhook_emit
from quotes.models import Order


def order_tell(*, order: Order, change: str, now: datetime) -> None:
    """Tell whoever wants to hear of it: which order, and what kind of change."""
    payload = {"reference": order.request.reference, "order": order.number, "change": change}
    webhook_emit(kind="order.changed", payload=payload, now=now)
