"""Letters to the customer: put into the outbox with the change they tell of, sent afterwards."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction

from intake.models import HireRequest, OutboxMessage
from intake.outbox.services import outbox_put

LETTERS_AN_HOUR = 5


@transaction.atomic
def link_mail(*, request: HireRequest, address: str, now: datetime) -> bool:
    """Send the request's link to an address; a handful an hour, so that nobody is flooded."""
    recent = OutboxMessage.objects.filter(
        topic="intake.mail_customer",
        payload__request_id=request.pk,
        payload__letter="link",
        created_at__gt=now - timedelta(hours=1),
    )
    if recent.count() >= LETTERS_AN_HOUR:
        return False
    outbox_put(
        topic="intake.mail_customer",
        payload={"request_id": request.pk, "letter": "link", "address": address},
        now=now,
    )
    return True
