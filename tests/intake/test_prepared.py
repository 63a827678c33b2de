"""Queries whose SQL is kept give what the ORM gives."""

from __future__ import annotations

import pytest

from intake.models import HireRequest
from intake.prepared import Prepared
from intake.requests.selectors import ANSWERS, LOADS
from tests.intake.visitor import Visitor

pytestmark = pytest.mark.django_db


def test_the_rows_are_those_of_the_query() -> None:
    visitor = Visitor()
    visitor.fill()
    request = HireRequest.objects.get(reference=visitor.reference)
    for prepared, related in ((ANSWERS, request.answers), (LOADS, request.loads)):
        names = [field.attname for field in prepared.rows(request.pk)[0]._meta.concrete_fields]
        wanted = list(related.values_list(*names))
        assert [tuple(getattr(r, n) for n in names) for r in prepared.rows(request.pk)] == wanted


def test_a_query_of_two_values_is_refused() -> None:
    twice = Prepared(lambda pk: HireRequest.objects.filter(pk=pk, version=pk), example=1)
    with pytest.raises(AssertionError, match="not a query of one value"):
        twice.rows(1)
