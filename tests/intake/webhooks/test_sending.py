"""Told as Standard Webhooks says, to a real server; its own library is the judge."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone
from standardwebhooks import Webhook
from standardwebhooks.webhooks import WebhookVerificationError

from intake.models import Event, OutboxMessage, WebhookDelivery, WebhookEndpoint
from intake.outbox.errors import HandedOverOutsideTransaction
from intake.outbox.services import message_send
from intake.webhooks.endpoints import endpoint_rotate
from intake.webhooks.errors import DeliveryStands, PayloadTooLarge
from intake.webhooks.secrets import secret_of
from intake.webhooks.sending import RETRIES, delivery_send
from intake.webhooks.services import TOPIC, delivery_again, webhook_emit
from tests.intake.webhooks.conftest import Receiver

PAYLOAD = {"reference": "AB12-CD34", "state": "open"}


def tell(kind: str = "case.opened", payload: Any = PAYLOAD) -> list[WebhookDelivery]:
    with transaction.atomic():
        return webhook_emit(kind=kind, payload=payload, now=timezone.now())


def work(times: int = 1) -> None:
    """Do what the relay and a worker do, the messages that are not due yet too."""
    for _ in range(times):
        for message in OutboxMessage.objects.filter(topic=TOPIC, done_at=None):
            message_send(
                message_id=message.pk, handler=TOPIC, clock=timezone.now,
                effect=lambda payload=message.payload: delivery_send(**payload),
            )  # fmt: skip


def test_what_arrives_verifies_and_says_what_happened(listening: Receiver) -> None:
    (delivery,) = tell()
    assert listening.got == []  # not from inside the transaction
    work()
    ((headers, body),) = listening.got
    read = Webhook(listening.secret).verify(body, headers)
    assert read["type"] == "case.opened"
    assert read["data"] == PAYLOAD
    assert abs(datetime.fromisoformat(read["timestamp"]) - datetime.now(UTC)) < timedelta(minutes=1)
    assert headers["path"] == "/hooks?from=hire"
    assert headers["Content-Type"] == "application/json"
    delivery.refresh_from_db()
    assert (delivery.last_status, delivery.attempts) == (204, 1)
    assert delivery.delivered_at is not None


@pytest.mark.parametrize("forged", ["body", "id", "moment", "secret"])
def test_what_was_tampered_with_does_not_verify(listening: Receiver, forged: str) -> None:
    tell()
    work()
    ((headers, body),) = listening.got
    secret = listening.secret
    if forged == "body":
        body = body.replace(b"open", b"shut", 1)
    elif forged == "id":
        headers["webhook-id"] = "msg_other"
    elif forged == "moment":
        headers["webhook-timestamp"] = str(int(headers["webhook-timestamp"]) + 1)
    else:
        listening.endpoint.secret_generation = 7
        secret = secret_of(listening.endpoint)
    with pytest.raises(WebhookVerificationError):
        Webhook(secret).verify(body, headers)


def test_an_old_message_played_again_is_refused_by_its_moment(
    listening: Receiver, monkeypatch: pytest.MonkeyPatch
) -> None:
    early = datetime.now(UTC) - timedelta(minutes=6)
    monkeypatch.setattr("intake.webhooks.sending.timezone.now", lambda: early)
    tell()
    work()
    with pytest.raises(WebhookVerificationError, match="too old"):
        Webhook(listening.secret).verify(listening.got[0][1], listening.got[0][0])


def test_only_who_asked_for_a_kind_is_told(listening: Receiver) -> None:
    assert tell("quote.ready") == []
    assert tell("case.closed")
    WebhookEndpoint.objects.update(active=False)
    assert tell("case.closed") == []


def test_what_is_undone_is_never_told(listening: Receiver) -> None:
    with transaction.atomic():
        webhook_emit(kind="case.opened", payload=PAYLOAD, now=timezone.now())
        transaction.set_rollback(True)
    assert not WebhookDelivery.objects.exists()
    work()
    assert listening.got == []


def test_telling_outside_a_transaction_is_a_defect(
    db: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(transaction.get_connection(), "in_atomic_block", False)
        with pytest.raises(HandedOverOutsideTransaction):
            webhook_emit(kind="case.opened", payload=PAYLOAD, now=timezone.now())


def test_an_unknown_kind_and_a_long_story_are_defects(listening: Receiver) -> None:
    with pytest.raises(KeyError):
        tell("case.eaten")
    with pytest.raises(PayloadTooLarge):
        tell(payload={"words": "x" * 20_000})
    tell(payload={"words": "x" * 19_900})
    assert len(WebhookDelivery.objects.get().body) < 20_000  # Standard Webhooks: "20kb"


def test_a_failure_is_tried_again_by_the_schedule_under_the_same_id(listening: Receiver) -> None:
    """Standard Webhooks, Deliverability and reliability: 5 s, 5 min, 30 min, 2, 5, 10, 14, 20, 24 h
    with jitter."""
    listening.answer = 503
    tell()
    waits = []
    for attempt in range(1, 11):
        work()
        delivery = WebhookDelivery.objects.get()
        assert (delivery.attempts, delivery.last_status) == (attempt, 503)
        asked = OutboxMessage.objects.filter(topic=TOPIC, done_at=None).first()
        if asked:
            waits.append((asked.due_at - asked.created_at).total_seconds())
    schedule = [5, 300, 1800, 7200, 18000, 36000, 50400, 72000, 86400]
    assert [one.total_seconds() for one in RETRIES] == schedule
    assert len(waits) == len(schedule)
    assert all(least <= wait <= 1.2 * least for least, wait in zip(schedule, waits, strict=True))
    assert any(wait > least for least, wait in zip(schedule, waits, strict=True))
    assert len({headers["webhook-id"] for headers, _body in listening.got}) == 1
    assert WebhookDelivery.objects.get().given_up_at is not None
    assert len(listening.got) == 10


def test_after_a_failure_it_arrives(listening: Receiver) -> None:
    listening.answer = 500
    tell()
    work()
    listening.answer = 200
    work()
    delivery = WebhookDelivery.objects.get()
    assert (delivery.attempts, delivery.last_status, delivery.last_error) == (2, 200, "")
    assert delivery.delivered_at is not None
    assert delivery.next_at is None
    assert not OutboxMessage.objects.filter(topic=TOPIC, done_at=None).exists()


def test_who_took_nothing_for_days_is_switched_off(listening: Receiver) -> None:
    listening.answer = 500
    tell()
    work(10)
    assert not WebhookEndpoint.objects.get().active
    assert Event.objects.filter(kind="webhook_switched_off", subject="dispatch board").exists()


def test_who_took_something_meanwhile_stays_on(listening: Receiver) -> None:
    listening.answer = 500
    (lost,) = tell()
    work(9)
    listening.answer = 200
    (fine,) = tell()
    message = OutboxMessage.objects.get(payload__delivery_id=str(fine.pk))
    delivery_send(**message.payload)
    listening.answer = 500
    work()
    lost.refresh_from_db()
    assert lost.given_up_at is not None
    assert WebhookEndpoint.objects.get().active


def test_410_gone_switches_it_off_at_once(listening: Receiver) -> None:
    listening.answer = 410
    tell()
    work()
    endpoint = WebhookEndpoint.objects.get()
    assert (endpoint.active, endpoint.off_reason) == (False, "It answered 410 Gone.")
    assert WebhookDelivery.objects.get().given_up_at is not None
    assert not OutboxMessage.objects.filter(topic=TOPIC, done_at=None).exists()


@pytest.mark.parametrize("status", [301, 302, 307, 308])
def test_a_redirect_is_a_failure_and_not_followed(listening: Receiver, status: int) -> None:
    listening.answer, listening.headers = status, {"Location": listening.url + "&again=1"}
    tell()
    work()
    assert len(listening.got) == 1
    assert WebhookDelivery.objects.get().last_error == f"Answered {status}."


def test_nobody_there_is_a_failure_like_another(listening: Receiver) -> None:
    WebhookEndpoint.objects.update(url="http://127.0.0.1:9/hooks")
    tell()
    work()
    delivery = WebhookDelivery.objects.get()
    assert delivery.last_status is None
    assert delivery.last_error.startswith("No answer")
    assert delivery.next_at is not None


def test_who_answers_too_slowly_is_left(listening: Receiver, settings: Any) -> None:
    settings.SETWRIGHT_WEBHOOK_TIMEOUT_S, listening.slow_s = 0.05, 0.5
    tell()
    work()
    assert WebhookDelivery.objects.get().last_error.startswith("No answer")


def test_delivered_twice_the_same_try_is_made_once(listening: Receiver) -> None:
    (delivery,) = tell()
    work()
    delivery_send(delivery_id=str(delivery.pk), attempt=1)
    delivery_send(delivery_id=str(uuid4()), attempt=1)
    assert len(listening.got) == 1


def test_while_a_secret_is_rotated_both_verify_then_the_new_one_alone(
    listening: Receiver, manager: User
) -> None:
    old, now = listening.secret, timezone.now()
    new = endpoint_rotate(
        endpoint=listening.endpoint, version=1, overlap=timedelta(hours=1), actor=manager, now=now
    )
    assert new != old
    tell()
    work()
    headers, body = listening.got[-1]
    Webhook(old).verify(body, headers)
    Webhook(new).verify(body, headers)
    WebhookEndpoint.objects.update(earlier_secret_until=now - timedelta(seconds=1))
    tell()
    work()
    headers, body = listening.got[-1]
    Webhook(new).verify(body, headers)
    with pytest.raises(WebhookVerificationError):
        Webhook(old).verify(body, headers)


def test_the_service_may_change_its_own_key_while_the_old_one_falls_back(
    listening: Receiver, settings: Any
) -> None:
    settings.SECRET_KEY_FALLBACKS, settings.SECRET_KEY = [settings.SECRET_KEY], "y" * 50
    tell()
    work()
    Webhook(listening.secret).verify(listening.got[0][1], listening.got[0][0])


def test_no_secret_is_in_the_database(listening: Receiver) -> None:
    row = WebhookEndpoint.objects.filter().values().get()
    assert listening.secret.startswith("whsec_")
    assert listening.secret.removeprefix("whsec_") not in str(row)


def test_what_was_given_up_goes_again_under_its_id(listening: Receiver) -> None:
    listening.answer = 410
    (delivery,) = tell()
    work()
    WebhookEndpoint.objects.update(active=True)
    listening.answer = 200
    delivery_again(delivery=delivery, now=timezone.now())
    work()
    first, second = (headers["webhook-id"] for headers, _body in listening.got)
    assert first == second
    with pytest.raises(DeliveryStands):
        delivery_again(delivery=delivery, now=timezone.now())
