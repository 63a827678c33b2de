"""`setwright audit`: silent on a sound database, and finds each planted fault by its name."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from io import StringIO
from pathlib import Path
from threading import Thread
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.core.management import call_command
from django.db import connection
from django.db.models import F

from intake.audit.requests import INVARIANTS as OF_REQUESTS
from intake.audit.snapshot import snapshot
from intake.audit.webhooks import INVARIANTS as OF_WEBHOOKS
from intake.desk.services import case_open
from intake.events.services import event_record
from intake.models import (
    ApiClient,
    HireRequest,
    IdempotencyRecord,
    InboxMark,
    OutboxMessage,
    RequestPhoto,
    SizingRun,
    Status,
    WebhookDelivery,
)
from intake.webhooks.endpoints import endpoint_make
from intake.webhooks.services import webhook_emit
from quotes.acceptance.services import Signature, quote_accept
from quotes.audit.orders import INVARIANTS as OF_ORDERS
from quotes.management.commands.audit import INVARIANTS, breaches
from quotes.models import Acceptance, Booking, Order, Quote, QuoteDocument, QuoteLine
from tests.quotes.cast import NOW, quoted, request_in_pricing

SOUND: set[str] = set()


@pytest.fixture(autouse=True)
def clock() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture(autouse=True)
def _media(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = str(tmp_path)


@pytest.fixture
def ordered(company: None) -> Order:
    """An order as a customer makes it, recorded as sent."""
    quote = quoted()
    recorded(quote.request)
    return quote_accept(
        quote_id=quote.pk, terms_version=quote.terms_version, signature=Signature("Ada Story"),
        now=NOW,
    )  # fmt: skip


def recorded(request: HireRequest) -> None:
    """The cast writes its requests straight into pricing; the record of sending is added here."""
    event_record(kind="request_submitted", now=NOW, actor="customer", request=request)


def found() -> set[str]:
    return {breach.code for breach in breaches(now=NOW)}


def test_a_sound_database_has_no_breach(ordered: Order) -> None:
    assert found() == SOUND
    out = StringIO()
    call_command("audit", stdout=out)
    assert out.getvalue() == f"All {len(INVARIANTS)} promises hold.\n"


def run_lost() -> None:
    request = request_in_pricing()
    request.runs.all().delete()


def sent_twice() -> None:
    recorded(HireRequest.objects.get())


def off_the_desk() -> None:
    HireRequest.objects.update(status=Status.IN_REVIEW)


def left_on_the_desk() -> None:
    case_open(request=HireRequest.objects.get(), run=SizingRun.objects.get(), now=NOW)


def nobody_prices_it() -> None:
    request_in_pricing()


def stuck() -> None:
    message().delete()
    OutboxMessage.objects.create(
        topic="quotes.mail_order", payload={"order_id": Order.objects.get().pk},
        created_at=NOW - timedelta(days=1), due_at=NOW - timedelta(days=1),
        published_at=NOW - timedelta(days=1),
    )  # fmt: skip


def never_published() -> None:
    OutboxMessage.objects.filter(done_at=None).update(due_at=NOW - timedelta(hours=1))


def parked() -> None:
    OutboxMessage.objects.filter(done_at=None).update(parked_at=NOW, last_error="it failed")


def unmarked() -> None:
    OutboxMessage.objects.filter(topic="quotes.mail_order").update(done_at=NOW)
    InboxMark.objects.all().delete()


def half_kept() -> None:
    client = ApiClient.objects.create(name="x", created_at=NOW)
    IdempotencyRecord.objects.create(
        client=client, key="order-0001", fingerprint="-", created_at=NOW
    )


def telling() -> WebhookDelivery:
    """One thing that is still to be told, with its message."""
    endpoint_make(
        name="board", url="https://hooks.example.com/", kinds=["order.changed"],
        actor=User.objects.get_or_create(username="mia")[0], now=NOW,
    )  # fmt: skip
    (delivery,) = webhook_emit(kind="order.changed", payload={}, now=NOW)
    assert found() == SOUND
    return delivery


def told_nobody() -> None:
    WebhookDelivery.objects.filter(pk=telling().pk).update(
        delivered_at=NOW, next_at=None, attempts=1, last_status=503
    )


def told_late() -> None:
    WebhookDelivery.objects.filter(pk=telling().pk).update(next_at=NOW - timedelta(hours=1))


def telling_forgotten() -> None:
    delivery = telling()
    OutboxMessage.objects.filter(payload__delivery_id=str(delivery.pk)).delete()


def message() -> OutboxMessage:
    return OutboxMessage.objects.get(topic="quotes.mail_order")


def doubled_booking() -> None:
    """PostgreSQL refuses this itself; there the row is planted with the rule taken off."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")  # no table changes with checks due
            cursor.execute(
                "SELECT conname FROM pg_constraint WHERE contype = 'x' AND conrelid = "
                "'quotes_booking'::regclass"
            )
            for (name,) in cursor.fetchall():
                cursor.execute(f'ALTER TABLE quotes_booking DROP CONSTRAINT "{name}"')
    first = Booking.objects.get()
    Booking.objects.create(
        unit=first.unit, order=first.order, starts_on=first.ends_on, ends_on=date(2027, 12, 1),
        free_on=date(2027, 12, 3), made_at=NOW,
    )  # fmt: skip


def freed() -> None:
    Booking.objects.update(cancelled_at=NOW)


def held_too_short() -> None:
    Booking.objects.update(ends_on=F("ends_on") - timedelta(days=1))


def unsigned() -> None:
    Acceptance.objects.all().delete()


def accepted_twice() -> None:
    request = HireRequest.objects.get()
    event_record(
        kind="quote_accepted", now=NOW, actor="customer", request=request, subject="-",
        name="Ada Story", order="-", total="1.00",
    )  # fmt: skip


def letter_lost() -> None:
    message().delete()


def letter_doubled() -> None:
    twin = message()
    twin.pk = uuid4()
    twin.save(force_insert=True)


def accepted_for_less() -> None:
    Acceptance.objects.update(total="1.00")


def line_changed() -> None:
    QuoteLine.objects.filter(position=0).update(amount="1.00")


def quoted_no_more() -> None:
    HireRequest.objects.update(status=Status.QUOTED)


def order_of_another() -> None:
    request_in_pricing()
    HireRequest.objects.filter(order=None).update(status=Status.ORDERED)


def document_lost() -> None:
    QuoteDocument.objects.all().delete()


def revision_lost() -> None:
    Quote.objects.update(revision=3)


def file_cut() -> None:
    request = HireRequest.objects.get()
    photo = RequestPhoto(request=request, width_px=1, height_px=1, bytes_kept=9, added_at=NOW)
    photo.image.save("plate.jpg", ContentFile(b"12345678"), save=False)
    photo.save()


PLANTED: list[tuple[str, Callable[[], None]]] = [
    ("sent_without_run", run_lost),
    ("sent_once", sent_twice),
    ("in_review_without_case", off_the_desk),
    ("case_left_open", left_on_the_desk),
    ("pricing_without_message", nobody_prices_it),
    ("message_stuck", stuck),
    ("message_stuck", never_published),
    ("message_parked", parked),
    ("done_without_mark", unmarked),
    ("photo_without_file", file_cut),
    ("answer_half_kept", half_kept),
    ("told_without_answer", told_nobody),
    ("not_told_in_time", told_late),
    ("told_without_message", telling_forgotten),
    ("booked_twice", doubled_booking),
    ("order_without_units", freed),
    ("held_to_another_day", held_too_short),
    ("order_without_acceptance", unsigned),
    ("order_accepted_once", accepted_twice),
    ("order_without_letter", letter_lost),
    ("order_without_letter", letter_doubled),
    ("acceptance_of_other_total", accepted_for_less),
    ("total_off", line_changed),
    ("quoted_without_offer", quoted_no_more),
    ("ordered_without_order", order_of_another),
    ("offer_without_document", document_lost),
    ("revisions_with_holes", revision_lost),
]


@pytest.mark.parametrize(("code", "plant"), PLANTED, ids=[plant.__name__ for _c, plant in PLANTED])
def test_a_planted_fault_is_found_by_its_name(
    code: str, plant: Callable[[], None], ordered: Order
) -> None:
    plant()
    assert code in found()


def test_every_promise_has_a_planted_fault() -> None:
    assert {code for code, _plant in PLANTED} == {
        one.code for one in (*OF_REQUESTS, *OF_WEBHOOKS, *OF_ORDERS)
    }


def test_a_breach_ends_the_command_with_one_and_says_which_row(ordered: Order) -> None:
    freed()
    out = StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("audit", "--json", stdout=out)
    assert ended.value.code == 1
    (line,) = [json.loads(text) for text in out.getvalue().splitlines()]
    assert (line["code"], line["subject"]) == ("order_without_units", ordered.number)


@pytest.mark.django_db(transaction=True)
def test_the_audit_sees_one_moment_and_stops_nobody() -> None:
    """Another connection writes meanwhile: it neither waits nor is seen."""
    with snapshot():
        assert not ApiClient.objects.exists()
        writer = Thread(target=client_written)
        writer.start()
        writer.join(10)
        assert not writer.is_alive(), "the audit holds a writer up"
        assert not ApiClient.objects.exists()
    assert ApiClient.objects.count() == 1


def client_written() -> None:
    ApiClient.objects.create(name="meanwhile", created_at=NOW)
    connection.close()
