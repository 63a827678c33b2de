"""Fifty customers want the last unit; pairs of orders want two units in opposite order.

Runs on the database of the settings; with DATABASE_URL on PostgreSQL.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from datetime import date
from functools import partial

import pytest
from django.db import connection, transaction

from intake.models import HireRequest, OutboxMessage, Status
from quotes.acceptance.services import Signature, quote_accept
from quotes.bookings.errors import JustTaken
from quotes.bookings.selectors import Hold
from quotes.bookings.services import bookings_insert, taken_refused
from quotes.demo.company import company_load
from quotes.models import Acceptance, Booking, Order, Quote, QuoteState, Unit, UnitState
from tests.quotes.cast import NOW, quoted
from tests.quotes.hurry import all_at_once, room_for_all

pytestmark = pytest.mark.django_db(transaction=True)
CUSTOMERS = 50
HOLD = Hold(date(2027, 6, 1), date(2027, 6, 14), date(2027, 6, 16))


@pytest.fixture(autouse=True)
def _room() -> Iterator[None]:
    with room_for_all():
        yield


@pytest.fixture
def offers() -> list[Quote]:
    """Fifty open offers of one type, of which one unit is left."""
    company_load(now=NOW)
    made = [quoted() for _ in range(CUSTOMERS)]
    code = made[0].lines.get(kind="hire").code
    last = Unit.objects.filter(set_type__code=code, branch=made[0].branch).order_by("pk")[0]
    Unit.objects.filter(set_type__code=code).exclude(pk=last.pk).update(state=UnitState.RETIRED)
    return made


def accept(quote: Quote) -> str:
    quote_accept(
        quote_id=quote.pk,
        terms_version=quote.terms_version,
        signature=Signature(name=f"Customer {quote.pk}"),
        now=NOW,
    )
    return "won"


def test_of_fifty_for_the_last_unit_one_wins_and_nothing_is_half_done(offers: list[Quote]) -> None:
    said = all_at_once([partial(accept, quote) for quote in offers])
    assert said == Counter({"won": 1, "JustTaken": CUSTOMERS - 1})
    assert (Booking.objects.count(), Order.objects.count(), Acceptance.objects.count()) == (1, 1, 1)
    assert Quote.objects.filter(state=QuoteState.OFFERED).count() == CUSTOMERS - 1
    assert HireRequest.objects.filter(status=Status.QUOTED).count() == CUSTOMERS - 1
    assert OutboxMessage.objects.filter(topic="quotes.mail_order").count() == 1


def test_one_offer_accepted_fifty_times_is_one_order(offers: list[Quote]) -> None:
    said = all_at_once([partial(accept, offers[0])] * CUSTOMERS)
    assert said["won"] == 1
    assert set(said) == {"won", "OfferClosed"}, "whoever lost is told what whoever is late is told"
    assert Order.objects.count() == 1


def insert(order: Order, units: list[Unit]) -> str:
    """Insert past the locks, so that the look and the database's own rule stand guard alone."""
    with taken_refused(), transaction.atomic():
        bookings_insert(order=order, units=units, hold=HOLD, now=NOW)
    return "won"


def orders(count: int) -> list[Order]:
    return [
        Order.objects.create(number=quote.number, request=quote.request, quote=quote, made_at=NOW)
        for quote in (quoted() for _ in range(count))
    ]


def test_pairs_in_opposite_order_never_share_a_unit() -> None:
    company_load(now=NOW)
    made = orders(12)
    one, two = Unit.objects.order_by("pk")[:2]
    acts: list[Callable[[], str]] = [
        partial(insert, order, [one, two] if n % 2 else [two, one]) for n, order in enumerate(made)
    ]
    assert all_at_once(acts) == Counter({"won": 1, "JustTaken": len(made) - 1})
    assert Booking.objects.count() == 2


def booking(order: Order, unit: Unit) -> Booking:
    return Booking(
        unit=unit,
        order=order,
        starts_on=HOLD.starts_on,
        ends_on=HOLD.ends_on,
        free_on=HOLD.free_on,
        made_at=NOW,
    )


postgres_only = pytest.mark.skipif(
    connection.vendor != "postgresql", reason="the exclusion constraint is PostgreSQL's"
)


@postgres_only
def test_the_database_itself_refuses_an_overlap() -> None:
    company_load(now=NOW)
    unit, (first, second) = Unit.objects.order_by("pk")[0], orders(2)
    booking(first, unit).save(force_insert=True)
    with pytest.raises(JustTaken), taken_refused(), transaction.atomic():
        booking(second, unit).save(force_insert=True)


def in_given_order(order: Order, units: list[Unit]) -> str:
    """Insert unsorted and unlooked: the deadlock that sorting avoids."""
    with taken_refused(), transaction.atomic():
        for unit in units:
            booking(order, unit).save(force_insert=True)
    return "won"


@postgres_only
def test_a_deadlock_of_the_unsorted_is_told_as_taken() -> None:
    company_load(now=NOW)
    made = orders(8)
    one, two = Unit.objects.order_by("pk")[:2]
    said = all_at_once(
        [
            partial(in_given_order, order, [one, two] if n % 2 else [two, one])
            for n, order in enumerate(made)
        ]
    )
    assert set(said) <= {"won", "JustTaken"}
    assert said["won"] <= 1
