"""Rows written by SQL that is kept are those that the ORM writes."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.db import DatabaseError, IntegrityError, transaction
from django.db.models import Model

from intake.models import Event, HireRequest, OutboxMessage
from intake.prepared_rows import PreparedInsert, PreparedSave
from quotes.demo.company import company_load
from quotes.models import Quote, QuoteDocument, QuoteLine, QuoteTax
from quotes.pricing.terms import LineKind
from tests.quotes import cast

pytestmark = pytest.mark.django_db
NOW = datetime(2027, 7, 4, 12, 30, 1, 250, tzinfo=UTC)


@pytest.fixture
def company() -> None:
    company_load(now=cast.NOW)


def stored(row: Model) -> dict[str, Any]:
    """A row as it is read, its key and what must be unlike aside."""
    read: dict[str, Any] = type(row)._base_manager.filter(pk=row.pk).values().get()
    return {name: value for name, value in read.items() if name not in {"id", "message_id"}}


def test_a_row_is_stored_as_the_model_stores_it(company: None) -> None:
    request = cast.request_in_pricing()
    fields: dict[str, Any] = {
        "request": request,
        "run": request.runs.get(),
        "choices": {"delivery": "owner", "option": 1, "said": "¿Qué?"},
        "starts_on": date(2027, 6, 1),
        "total": Decimal("1234.5"),
        "created_at": NOW,
    }
    ours, theirs = (Quote(message_id=uuid4(), revision=number, **fields) for number in (1, 2))
    PreparedInsert(Quote).row(ours)
    theirs.save()
    assert ours.pk
    assert not ours._state.adding
    assert ours._state.db == theirs._state.db
    assert stored(ours) == {**stored(theirs), "revision": 1}


def test_a_row_with_a_key_of_its_own_keeps_it() -> None:
    message = OutboxMessage(topic="t", payload={"n": [1, None]}, created_at=NOW, due_at=NOW)
    key = message.pk
    PreparedInsert(OutboxMessage).row(message)
    read = OutboxMessage.objects.get()
    assert (read.pk, read.payload, read.headers, read.due_at) == (key, {"n": [1, None]}, {}, NOW)


def test_many_rows_are_stored_as_the_model_stores_them(company: None) -> None:
    quote = cast.quoted()
    for model in (QuoteLine, QuoteTax, QuoteDocument):
        names = [one.attname for one in model._meta.concrete_fields if one.attname != "id"]
        wanted = list(model._base_manager.values_list(*names))
        assert wanted
        model._base_manager.all().delete()
        PreparedInsert(model, *names).rows(wanted)
        assert list(model._base_manager.values_list(*names)) == wanted
    line = (quote.pk, 99, LineKind.FUEL, "c", "l", Decimal("1.5"), "", Decimal(2), Decimal(3), "")
    PreparedInsert(QuoteLine).rows([line])
    read = QuoteLine.objects.get(position=99)
    assert (read.kind, read.quantity, read.amount) == ("fuel", Decimal("1.50"), Decimal("3.00"))


def test_no_rows_are_no_change() -> None:
    PreparedInsert(Event).rows([])
    assert not Event.objects.exists()


def test_every_column_must_be_named() -> None:
    with pytest.raises(AssertionError):
        PreparedInsert(QuoteLine, "quote_id", "position").rows([(1, 1)])


def test_a_row_that_is_refused_spoils_its_transaction() -> None:
    with transaction.atomic():
        with pytest.raises(IntegrityError):
            PreparedInsert(OutboxMessage).row(OutboxMessage(topic="t", due_at=NOW))
        assert transaction.get_rollback()


def test_columns_are_saved_as_they_stand_and_no_others(company: None) -> None:
    quote = cast.quoted()
    before = stored(quote)
    quote.content, quote.total, quote.reason = {"options": []}, Decimal("7.1"), "not saved"
    PreparedSave(Quote, "content", "total").save(quote)
    assert stored(quote) == {**before, "content": {"options": []}, "total": Decimal("7.10")}


def test_a_row_that_is_gone_is_not_saved_in_silence() -> None:
    with pytest.raises(DatabaseError):
        PreparedSave(HireRequest, "status").save(HireRequest(pk=-1, status="draft"))
