"""All tasks of quoting, for Celery to find."""

from quotes.building.tasks import build_quote
from quotes.emergency.planning.tasks import emergency_plan
from quotes.emergency.tasks import mail_body_link, mail_page, mail_review, size_need, size_site
from quotes.handover.tasks import mail_hire_change, mail_hire_note, mail_service_case
from quotes.mailing.tasks import mail_offer, mail_order, mail_reminder
from quotes.sweeps import (
    expire_offers,
    remind_customers,
    remind_reviews,
    size_needs,
    size_sites,
)

__all__ = [
    "build_quote",
    "emergency_plan",
    "expire_offers",
    "mail_body_link",
    "mail_hire_change",
    "mail_hire_note",
    "mail_offer",
    "mail_order",
    "mail_page",
    "mail_reminder",
    "mail_review",
    "mail_service_case",
    "remind_customers",
    "remind_reviews",
    "size_need",
    "size_needs",
    "size_site",
    "size_sites",
]
