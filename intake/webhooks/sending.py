"""One try at a delivery, and what follows from it: done, again later, given up, switched off."""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta

from celery.exceptions import SoftTimeLimitExceeded
from django.db import transaction
from django.utils import timezone

from intake.events.services import event_record
from intake.models import WebhookDelivery, WebhookEndpoint
from intake.webhooks.addresses import target_of
from intake.webhooks.errors import AddressRefused
from intake.webhooks.posting import NoAnswer, posted
from intake.webhooks.secrets import signed_headers
from intake.webhooks.services import delivery_ask

# Standard Webhooks, "Deliverability and reliability": its suggested schedule of retries.
RETRIES = tuple(
    timedelta(seconds=seconds)
    for seconds in (5, 300, 1800, 7200, 18000, 36000, 50400, 72000, 86400)
)
JITTER_PERCENT = 20
GONE = 410


def delivery_send(*, delivery_id: str, attempt: int) -> None:
    """Try once, outside any transaction; the outcome and the next try are one transaction.

    A try that was made before is not made again, nor one of a webhook that is off.
    """
    delivery = WebhookDelivery.objects.select_related("endpoint").filter(pk=delivery_id).first()
    if delivery is None or delivery.attempts != attempt - 1 or _ended(delivery):
        return
    if not delivery.endpoint.active:
        _outcome_keep(delivery, attempt, None, "The webhook is off.", timezone.now())
        return
    status, error = _tried(delivery)
    _outcome_keep(delivery, attempt, status, error, timezone.now())


def message_id(delivery: WebhookDelivery) -> str:
    """What a receiver tells one message from another by."""
    return f"msg_{delivery.pk.hex}"


def _ended(delivery: WebhookDelivery) -> bool:
    return delivery.delivered_at is not None or delivery.given_up_at is not None


def _tried(delivery: WebhookDelivery) -> tuple[int | None, str]:
    """The status answered, or what kept it from being answered."""
    headers = signed_headers(
        delivery.endpoint, message_id=message_id(delivery), body=delivery.body,
        now=timezone.now(),
    )  # fmt: skip
    try:
        target = target_of(delivery.endpoint.url)
        return posted(target, body=delivery.body, headers=headers), ""
    except AddressRefused as refusal:
        return None, str(refusal)
    except NoAnswer as trouble:
        return None, f"No answer ({trouble})."
    except SoftTimeLimitExceeded:
        return None, "No answer (too slow)."


@transaction.atomic
def _outcome_keep(
    delivery: WebhookDelivery, attempt: int, status: int | None, error: str, now: datetime
) -> None:
    """Keep what came of a try, once; only a 2xx is a success."""
    arrived = status is not None and 200 <= status < 300
    wait = None if arrived or not delivery.endpoint.active or status == GONE else pause(attempt)
    given_up = not arrived and wait is None
    hit = WebhookDelivery.objects.filter(pk=delivery.pk, attempts=attempt - 1).update(
        attempts=attempt,
        last_status=status,
        last_error=error or ("" if arrived else f"Answered {status}."),
        delivered_at=now if arrived else None,
        given_up_at=now if given_up else None,
        next_at=now + wait if wait else None,
    )
    if hit != 1:
        return
    if wait:
        delivery_ask(delivery=delivery, attempt=attempt + 1, due_at=now + wait, now=now)
    if given_up:
        _switch_off(delivery, status, now)


def pause(attempt: int) -> timedelta | None:
    """How long to wait after so many tries, up to a fifth longer; none when they are used up."""
    if attempt > len(RETRIES):
        return None
    jitter = 1 + secrets.randbelow(JITTER_PERCENT * 10 + 1) / 1000
    return RETRIES[attempt - 1] * jitter


def _switch_off(delivery: WebhookDelivery, status: int | None, now: datetime) -> None:
    """Leave an address alone that says it is gone, or that took nothing for days."""
    since = WebhookDelivery.objects.filter(
        endpoint=delivery.endpoint_id, delivered_at__gte=delivery.created_at
    )
    if status != GONE and since.exists():
        return
    reason = "It answered 410 Gone." if status == GONE else "It took nothing for days."
    off = WebhookEndpoint.objects.filter(pk=delivery.endpoint_id, active=True).update(
        active=False, off_reason=reason
    )
    if off:
        event_record(
            kind="webhook_switched_off", now=now, actor="system",
            subject=delivery.endpoint.name, reason=reason,
        )  # fmt: skip
