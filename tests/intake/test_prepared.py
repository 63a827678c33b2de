"""Queries whose SQL is kept give what the ORM gives."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.db.models import F

from intake.models import Answer, HireRequest, OutboxMessage
from intake.prepared import A_DAY, A_MOMENT, AN_ID, Prepared, PreparedUpdate
from intake.requests.selectors import ANSWERS, LOADS
from quotes.models import DeclaredEmergency
from tests.intake.visitor import Visitor

pytestmark = pytest.mark.django_db
NOW = datetime(2027, 7, 4, 12, tzinfo=UTC)


def test_the_rows_are_those_of_the_query() -> None:
    visitor = Visitor()
    visitor.fill()
    request = HireRequest.objects.get(reference=visitor.reference)
    for prepared, related in ((ANSWERS, request.answers), (LOADS, request.loads)):
        names = [field.attname for field in prepared.rows(request.pk)[0]._meta.concrete_fields]
        wanted = list(related.values_list(*names))
        assert [tuple(getattr(r, n) for n in names) for r in prepared.rows(request.pk)] == wanted


def test_a_row_is_the_instance_that_the_query_makes() -> None:
    visitor = Visitor()
    visitor.fill()
    by_key = Prepared(lambda pk: HireRequest.objects.filter(pk=pk).defer("token_hash"), -1)
    wanted = HireRequest.objects.defer("token_hash").get(reference=visitor.reference)
    found = by_key.first(wanted.pk)
    assert found is not None
    assert found == wanted
    assert {**vars(found), "_state": None} == {**vars(wanted), "_state": None}
    assert vars(found._state) == vars(wanted._state)
    assert found.get_deferred_fields() == wanted.get_deferred_fields()
    found.save()


def test_rows_of_several_values_come_as_tuples_where_the_query_asks_for_them() -> None:
    visitor = Visitor()
    visitor.fill()
    request = HireRequest.objects.get(reference=visitor.reference)
    said = Prepared(
        lambda request, key: Answer.objects.filter(request=request, key=key).values_list(
            "request_id", "value"
        ),
        -1,
        "",
    )
    email = request.answers.get(key="email").value
    assert said.rows(request.pk, "email") == [(request.pk, email)]
    assert said.rows(request.pk, "e-mail") == []
    with pytest.raises(ValueError, match="zip"):
        said.rows(request.pk)


def test_moments_days_and_identifiers_are_given_as_the_database_takes_them() -> None:
    message = OutboxMessage.objects.create(
        topic="t", payload={"n": 1}, created_at=NOW, due_at=NOW + timedelta(hours=1)
    )
    found = Prepared(
        lambda pk, due: OutboxMessage.objects.filter(pk=pk, due_at__gt=due),
        AN_ID,
        A_MOMENT,
    )
    assert found.first(message.pk, NOW) == message
    assert found.first(message.pk, NOW).due_at == message.due_at  # type: ignore[union-attr]
    assert found.first(message.pk, message.due_at) is None
    assert found.first(uuid4(), NOW) is None
    declared = DeclaredEmergency.objects.create(state="CO", name="Ice", valid_from=NOW.date())
    since = Prepared(lambda on: DeclaredEmergency.objects.filter(valid_from__lte=on), A_DAY)
    assert since.rows(NOW.date()) == [declared]
    assert since.rows(NOW.date() - timedelta(days=1)) == []


def test_a_prepared_change_changes_those_rows_and_counts_them() -> None:
    first, second = (
        OutboxMessage.objects.create(topic="t", payload={}, created_at=NOW, due_at=NOW)
        for _ in range(2)
    )
    done = PreparedUpdate(
        lambda pk, now: (
            OutboxMessage.objects.filter(pk=pk, done_at=None),
            {"done_at": now, "attempts": F("attempts") + 1},
        ),
        AN_ID,
        A_MOMENT,
    )
    assert [done.update(first.pk, NOW), done.update(first.pk, NOW)] == [1, 0]
    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.done_at, first.attempts) == (NOW, 1)
    assert (second.done_at, second.attempts) == (None, 0)


def test_a_prepared_change_that_fails_spoils_its_transaction() -> None:
    message = OutboxMessage.objects.create(topic="t", payload={}, created_at=NOW, due_at=NOW)
    emptied = PreparedUpdate(
        lambda pk: (OutboxMessage.objects.filter(pk=pk), {"created_at": None}), AN_ID
    )
    with transaction.atomic():
        with pytest.raises(IntegrityError):
            emptied.update(message.pk)
        assert transaction.get_rollback()


def test_a_value_may_stand_in_several_places() -> None:
    twice = Prepared(
        lambda now: HireRequest.objects.filter(created_at__gt=now).exclude(created_at=now), A_MOMENT
    )
    visitor = Visitor()
    visitor.fill()
    request = HireRequest.objects.get(reference=visitor.reference)
    assert twice.rows(request.created_at - timedelta(hours=1)) == [request]
    assert twice.rows(request.created_at) == []


@pytest.mark.parametrize(
    "mixed_up",
    [
        Prepared(lambda pk: HireRequest.objects.filter(pk=pk, version=1), 1),
        Prepared(lambda pk, request: Answer.objects.filter(pk=pk, request=request), 1, 1),
        Prepared(lambda key: Answer.objects.filter(key__startswith=key), "email"),
    ],
)
def test_an_example_that_does_not_stand_apart_is_refused(mixed_up: Prepared[Any]) -> None:
    with pytest.raises(AssertionError, match="do not stand apart"):
        mixed_up.rows(*mixed_up.examples)


def test_values_that_change_the_sql_are_refused() -> None:
    sliced = Prepared(lambda count: HireRequest.objects.all()[: abs(count)], -1)
    with pytest.raises(AssertionError, match="change the SQL itself"):
        sliced.rows(5)


def test_rows_joined_to_others_are_refused() -> None:
    joined = Prepared(lambda pk: Answer.objects.filter(pk=pk).select_related("request"), -1)
    with pytest.raises(AssertionError, match="one table alone"):
        joined.rows(1)
