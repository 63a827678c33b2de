"""Periodic tasks of quoting: offers run out, customers and public bodies are reminded."""

from __future__ import annotations

from datetime import datetime

from celery import shared_task

from intake.outbox.once import once_a_slot
from quotes.emergency.paging.calls import calls_escalate
from quotes.emergency.sites.services import reviews_remind
from quotes.emergency.sites.sizing import sites_size_due
from quotes.emergency.sizing_needs import needs_size_due
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


@shared_task(name="quotes.sweeps.call_again")
@once_a_slot("call_again", every_s=30)
def call_again(*, now: datetime) -> None:
    """Call the duty again, then the next person, about call backs that nobody recorded."""
    calls_escalate(now=now)


@shared_task(name="quotes.sweeps.size_needs")
@once_a_slot("size_needs", every_s=60)
def size_needs(*, now: datetime) -> None:
    """Size needs again whose request a rep put right since."""
    needs_size_due(now=now)


@shared_task(name="quotes.sweeps.size_sites")
@once_a_slot("size_sites", every_s=300)
def size_sites(*, now: datetime) -> None:
    """Size standing sites again where the fleet, the tables or the program changed."""
    sites_size_due(now=now)


@shared_task(name="quotes.sweeps.remind_reviews")
@once_a_slot("remind_reviews", every_s=3600)
def remind_reviews(*, now: datetime) -> None:
    """Remind public bodies of sites nobody looked through for a year."""
    reviews_remind(now=now)
