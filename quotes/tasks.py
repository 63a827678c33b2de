"""All tasks of quoting, for Celery to find."""

from quotes.building.tasks import build_quote
from quotes.handover.tasks import mail_hire_change, mail_hire_note, mail_service_case
from quotes.mailing.tasks import mail_offer, mail_order, mail_reminder
from quotes.sweeps import expire_offers, remind_customers

__all__ = [
    "build_quote",
    "expire_offers",
    "mail_hire_change",
    "mail_hire_note",
    "mail_offer",
    "mail_order",
    "mail_reminder",
    "mail_service_case",
    "remind_customers",
]
