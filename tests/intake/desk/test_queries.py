"""Pages of the desk cost a fixed number of queries, however many cases, answers or findings."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from intake.models import Case
from tests.intake.desk import cast

pytestmark = pytest.mark.django_db

QUEUE = 7  # session, person, profile, permissions, page, counts, colleagues
CASE = 14


@pytest.mark.parametrize("cases", [1, 5])
def test_the_queue(
    as_rep: Client, cases: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for _ in range(cases):
        cast.unsure_voltage()
    with django_assert_num_queries(QUEUE):
        as_rep.get(reverse("desk:queue"))


@pytest.mark.parametrize("pumps", [1, 6])
def test_the_case_page(
    as_rep: Client, pumps: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    loads = [cast.pump(name=f"Pump {n}") for n in range(pumps)]
    case = Case.objects.get(request=cast.sent(None, *loads))
    with django_assert_num_queries(CASE):
        as_rep.get(reverse("desk:case", args=[case.request.reference]))
