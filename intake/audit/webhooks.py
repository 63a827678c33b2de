"""Promises about what other systems are told."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from django.db.models import Q

from intake.audit.breach import Breach, Invariant
from intake.audit.requests import late_after
from intake.models import OutboxMessage, WebhookDelivery
from intake.webhooks.services import TOPIC


def told_without_answer(now: datetime) -> Iterator[Breach]:
    """Only a 2xx is a success, and only a try has an answer."""
    arrived = WebhookDelivery.objects.filter(delivered_at__isnull=False)
    answered = Q(last_status__gte=200, last_status__lt=300, attempts__gt=0)
    for delivery in arrived.exclude(answered).select_related("endpoint"):
        detail = f"It counts as told, but the last answer kept is {delivery.last_status}."
        yield Breach("told_without_answer", _named(delivery), detail)


def not_told_in_time(now: datetime) -> Iterator[Breach]:
    """What is still to be told knows when, and that is not long past."""
    open_ = WebhookDelivery.objects.filter(delivered_at=None, given_up_at=None)
    late = Q(next_at=None) | Q(next_at__lt=now - late_after())
    for delivery in open_.filter(late).select_related("endpoint"):
        detail = f"The next try was due at {delivery.next_at} and was not made."
        yield Breach("not_told_in_time", _named(delivery), detail)


def told_without_message(now: datetime) -> Iterator[Breach]:
    """What is still to be told has the message that asks a worker for the next try."""
    messages = OutboxMessage.objects.filter(topic=TOPIC, done_at=None)
    asked = {
        (payload["delivery_id"], payload["attempt"])
        for payload in messages.values_list("payload", flat=True)
    }
    open_ = WebhookDelivery.objects.filter(delivered_at=None, given_up_at=None)
    for delivery in open_.select_related("endpoint"):
        if (str(delivery.pk), delivery.attempts + 1) not in asked:
            detail = "It is still to be told, but no message asks a worker for the next try."
            yield Breach("told_without_message", _named(delivery), detail)


def _named(delivery: WebhookDelivery) -> str:
    return f"{delivery} ({delivery.pk})"


INVARIANTS = (
    Invariant("told_without_answer", "what counts as told was answered", told_without_answer),
    Invariant("not_told_in_time", "every telling is tried in its time", not_told_in_time),
    Invariant("told_without_message", "what is to be told has its message", told_without_message),
)
