"""Pages of the intake cost a fixed number of queries, however many answers or rows there are."""

from __future__ import annotations

import pytest
from pytest_django import DjangoAssertNumQueries

from tests.intake.visitor import LAMPS, STEPS, Visitor, hidden_fields

pytestmark = pytest.mark.django_db

STEP = 4  # the request, its answers, its rows, the company in the footer
QUERIES = {
    "site/": STEP,
    "dates/": STEP,
    "contact/": STEP,
    "equipment/": STEP + 1,  # the fleet, for the picture
    "check/": STEP + 1,  # the branches, for the place
}


@pytest.mark.parametrize("lamps", [0, 3])
def test_a_page_reads_its_rows_once(
    lamps: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    visitor = Visitor()
    visitor.fill()
    for _ in range(lamps):
        visitor.client.post(visitor.at("equipment/add/"), {"kind": "lamp"})
        visitor.post(visitor.load_page(), LAMPS)
    for page, queries in QUERIES.items():
        with django_assert_num_queries(queries):
            visitor.get(page)


def test_a_page_sent_as_it_was_reads_its_rows_before_and_in_saving(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    visitor = Visitor()
    visitor.fill()
    answers = {**STEPS["site"], **hidden_fields(visitor.get("site/"))}
    with django_assert_num_queries(8):  # the request, a savepoint, its version, twice both rows
        visitor.client.post(visitor.at("site/"), answers)


def test_an_answer_that_changed_is_written_at_once(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    visitor = Visitor()
    visitor.fill()
    hidden = hidden_fields(visitor.get("site/"))
    changed = {**STEPS["site"], "altitude": "9000", **hidden}
    with django_assert_num_queries(10):  # as above, and the answer and its event
        visitor.client.post(visitor.at("site/"), changed)
    hidden = hidden_fields(visitor.get("site/"))
    first = {**STEPS["site"], "altitude": "9000", "directions": "Gate 2", **hidden}
    with django_assert_num_queries(11):  # no row to change: a new one
        visitor.client.post(visitor.at("site/"), first)
    assert visitor.get("site/").select_one("#q-directions").get_text(strip=True) == "Gate 2"
