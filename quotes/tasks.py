"""All tasks of quoting, for Celery to find."""

from quotes.building.tasks import build_quote
from quotes.mailing.tasks import mail_offer, mail_order, mail_reminder

__all__ = ["build_quote", "mail_offer", "mail_order", "mail_reminder"]
