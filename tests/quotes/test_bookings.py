"""Bookings: no unit is ever held twice, whatever the hurry."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotes.bookings.errors import JustTaken
from quotes.bookings.selectors import Hold, all_free, hold_for, next_free_start, units_free
from quotes.bookings.services import bookings_cancel, bookings_insert, bookings_make
from quotes.models import Booking, Branch, Order, Unit, UnitState
from tests.quotes.cast import NOW, quoted

pytestmark = pytest.mark.django_db
FIRST = date(2027, 6, 1)
ASKS = st.lists(st.tuples(st.integers(0, 40), st.integers(1, 12), st.integers(0, 2)), max_size=12)


@pytest.fixture
def made(company: None) -> Order:
    quote = quoted()
    return Order.objects.create(
        number=quote.number, request=quote.request, quote=quote, made_at=NOW
    )


def hold(start: int, length: int, turnaround: int = 1) -> Hold:
    first = FIRST + timedelta(days=start)
    last = first + timedelta(days=length - 1)
    return Hold(first, last, last + timedelta(days=1 + turnaround))


def test_a_unit_is_free_again_after_its_turnaround(made: Order) -> None:
    unit = Unit.objects.filter(set_type__code="T60", branch__code="RIDGE")[0]
    bookings_insert(order=made, units=[unit], hold=hold(0, 5), now=NOW)
    taken = {"set_code": "T60", "branch": unit.branch}
    # days 0 to 4 on hire, day 5 in the yard, day 6 out again
    assert unit not in units_free(**taken, hold=hold(5, 3))
    assert unit in units_free(**taken, hold=hold(6, 3))


def test_a_unit_in_the_workshop_is_not_free(company: None) -> None:
    branch = Branch.objects.get(code="RIDGE")
    Unit.objects.filter(set_type__code="T60", branch=branch).update(state=UnitState.WORKSHOP)
    assert not all_free(sets={"T60": 1}, branch=branch, starts_on=FIRST, ends_on=FIRST)


def test_a_cancelled_order_frees_its_units(made: Order) -> None:
    unit = Unit.objects.filter(set_type__code="T60")[0]
    bookings_insert(order=made, units=[unit], hold=hold(0, 5), now=NOW)
    bookings_cancel(order=made, now=NOW)
    assert unit in units_free(set_code="T60", branch=unit.branch, hold=hold(0, 5))


def test_the_next_free_start_is_found(made: Order) -> None:
    branch = Branch.objects.get(code="FRONT")
    last = FIRST + timedelta(days=2)
    count = Unit.objects.filter(set_type__code="T400", branch=branch).count()
    taken = hold_for(branch, FIRST, last)
    bookings_make(order=made, sets={"T400": count}, branch=branch, hold=taken, now=NOW)
    found = next_free_start(sets={"T400": 1}, branch=branch, starts_on=FIRST, ends_on=last)
    assert found == FIRST + timedelta(days=3 + branch.turnaround_days)


@settings(max_examples=25)
@given(asks=ASKS)
def test_bookings_of_one_unit_never_overlap(made: Order, asks: list[tuple[int, int, int]]) -> None:
    Booking.objects.all().delete()
    unit = Unit.objects.order_by("pk")[0]
    for ask in asks:
        try:
            bookings_insert(order=made, units=[unit], hold=hold(*ask), now=NOW)
        except JustTaken:
            continue
    spans = sorted(Booking.objects.values_list("starts_on", "free_on"))
    assert all(before[1] <= after[0] for before, after in pairwise(spans))
