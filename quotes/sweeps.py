"""Periodic tasks of quoting: offers run out, customers are reminded."""

from __future__ import annotations

from datetime import datetime

from celery import shared_task

from intake.outbox.once import once_a_slot
from quotes.offers.services import offers_expire, offers_remind


@shared_task(name="quotes.sweeps.expire_offers")
@once_a_slot("expire_offers", every_s=60)
def expire_offers(*, now: datetime) -> None:
    """Close the offers whose last moment is over."""
    offers_expire(now=now)


@shared_task(name="quotes.sweeps.remind_customers")
@once_a_slot("remind_customers", every_s=900)
def remind_customers(*, now: datetime) -> None:
    """Remind once of offers that run out soon."""
    offers_remind(now=now)
