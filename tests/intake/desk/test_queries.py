"""Pages of the desk cost a fixed number of queries, however many cases, answers or findings."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from intake.desk.services.holding import case_claim
from intake.desk.services.settling import finding_settle
from intake.models import Case
from tests.intake.desk import cast

pytestmark = pytest.mark.django_db

QUEUE = 7  # session, person, profile, permissions, page, counts, colleagues
CASE = 14
CLAIMED = 15  # the same, and to whom it may be passed on


@pytest.mark.parametrize("cases", [1, 5])
def test_the_queue(
    as_rep: Client, cases: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for _ in range(cases):
        cast.unsure_voltage()
    with django_assert_num_queries(QUEUE):
        as_rep.get(reverse("desk:queue"))


@pytest.mark.parametrize("seen", ["", "old"])
def test_a_refresh_does_not_ask_for_the_filters(
    as_rep: Client, seen: str, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    cast.unsure_voltage()
    before = as_rep.get(reverse("desk:queue")).context["digest"]
    with django_assert_num_queries(QUEUE - 1):
        again = as_rep.get(
            reverse("desk:queue"), {"seen": seen or before}, headers={"HX-Request": "true"}
        )
    assert again.status_code == (200 if seen else 204)


@pytest.mark.parametrize("pumps", [1, 6])
def test_the_case_page(
    as_rep: Client, pumps: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    loads = [cast.pump(name=f"Pump {n}") for n in range(pumps)]
    case = Case.objects.get(request=cast.sent(None, *loads))
    with django_assert_num_queries(CASE):
        as_rep.get(reverse("desk:case", args=[case.request.reference]))


def test_the_page_of_a_case_that_the_reader_works(
    as_rep: Client, rep: User, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    case = cast.shelter()
    case_claim(case=case, version=case.version, actor=rep, now=cast.NOW)
    finding_settle(
        finding=case.findings.get(code="life_safety"), version=Case.objects.get(pk=case.pk).version,
        actor=rep, state="accepted", reason="Batteries take over.", now=cast.NOW,
    )  # fmt: skip
    with django_assert_num_queries(CLAIMED):
        shown = as_rep.get(reverse("desk:case", args=[case.request.reference]))
    assert b"by Rosa" in shown.content
