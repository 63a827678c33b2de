"""All tasks of quoting, for Celery to find."""

from quotes.building.tasks import build_quote
from quotes.mailing.tasks import mail_offer, mail_order, mail_reminder
from quotes.sweeps import expire_offers, remind_customers

__all__ = [
    "build_quote",
    "expire_offers",
    "mail_offer",
    "mail_order",
    "mail_reminder",
    "remind_customers",
]
