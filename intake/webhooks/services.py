"""Telling other systems: written with the change it tells of, sent by a worker afterwards."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

from django.db import transaction

from intake.models import WebhookDelivery, WebhookEndpoint
from intake.outbox.errors import HandedOverOutsideTransaction
from intake.outbox.services import outbox_put
from intake.prepared import Prepared
from intake.webhooks.errors import DeliveryStands, PayloadTooLarge
from intake.webhooks.kinds import KINDS

TOPIC = "intake.send_webhook"
QUEUE = "webhooks"
MOST_BYTES = 20_000
ACTIVE = Prepared(lambda: WebhookEndpoint.objects.filter(active=True).order_by("pk"))


def webhook_emit(*, kind: str, payload: dict[str, Any], now: datetime) -> list[WebhookDelivery]:
    """Tell every address that wants to hear of this kind, in the transaction of the change.

    The payload is small and names no person: references, states and codes.
    """
    if kind not in KINDS:
        raise KeyError(kind)
    if not transaction.get_connection().in_atomic_block:
        raise HandedOverOutsideTransaction(TOPIC)
    body = _body(kind, payload, now)
    return [_hand_over(one, kind, body, now) for one in ACTIVE.rows() if kind in one.kinds]


def _body(kind: str, payload: dict[str, Any], now: datetime) -> str:
    at = now.astimezone(UTC).isoformat().replace("+00:00", "Z")
    body = json.dumps({"type": kind, "timestamp": at, "data": payload}, separators=(",", ":"))
    if len(body.encode()) >= MOST_BYTES:
        raise PayloadTooLarge(f"{kind}: {len(body)} bytes")
    return body


def _hand_over(endpoint: WebhookEndpoint, kind: str, body: str, now: datetime) -> WebhookDelivery:
    delivery = WebhookDelivery(endpoint=endpoint, kind=kind, body=body, created_at=now, next_at=now)
    delivery.save(force_insert=True)
    delivery_ask(delivery=delivery, attempt=1, due_at=now, now=now)
    return delivery


def delivery_ask(
    *, delivery: WebhookDelivery, attempt: int, due_at: datetime, now: datetime
) -> None:
    """Ask a worker for one try."""
    outbox_put(
        topic=TOPIC,
        payload={"delivery_id": str(delivery.pk), "attempt": attempt},
        queue=QUEUE,
        due_at=due_at,
        now=now,
    )


@transaction.atomic
def delivery_again(*, delivery: WebhookDelivery, now: datetime) -> None:
    """Start a delivery that was given up once more, under its old id."""
    again = WebhookDelivery.objects.filter(pk=delivery.pk, given_up_at__isnull=False).update(
        given_up_at=None, attempts=0, next_at=now
    )
    if again != 1:
        raise DeliveryStands
    delivery_ask(delivery=delivery, attempt=1, due_at=now, now=now)
