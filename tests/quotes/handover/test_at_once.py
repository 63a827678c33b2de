"""Extension, swap and sign-off by many at once: one holds, the rest are told.

Runs on the database of the settings; with DATABASE_URL on PostgreSQL, where they really overlap.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from datetime import date
from decimal import Decimal
from functools import partial
from itertools import pairwise
from uuid import UUID, uuid4

import pytest
from django.db import connections, transaction

from quotes.demo.company import company_load
from quotes.handover.changing import change_agree, change_propose
from quotes.handover.errors import ChangeRefused, SignOffIncomplete
from quotes.handover.settling import sent_accessories, statement_make
from quotes.handover.signing import Signed, sign_off_receive
from quotes.handover.units import unit_swap, units_for_swap
from quotes.models import Booking, HireChange, Order, OutUnit, SignOff, Unit, UnitState
from tests.quotes.cast import NOW, quoted
from tests.quotes.handover.walking import days, driver, ordered, out_of, sign, signed_for
from tests.quotes.hurry import all_at_once, room_for_all
from tests.quotes.test_hurry import accept

pytestmark = pytest.mark.django_db(transaction=True)
LONGER = date(2027, 6, 21)
MANY = 12


@pytest.fixture(autouse=True)
def _company() -> Iterator[None]:
    company_load(now=NOW)
    with room_for_all():
        yield


def shown(order: Order, to_end: date = LONGER) -> Decimal:
    return change_propose(order=order, to_end=to_end, now=NOW).difference


def agree(order: Order, difference: Decimal, key: UUID, to_end: date = LONGER) -> str:
    change_agree(
        order_id=order.pk, to_end=to_end, difference=difference, name="Ada", client_key=key, now=NOW
    )
    return "done"


def swap(out: OutUnit, number: str) -> str:
    unit_swap(out_unit_id=out.pk, unit_number=number, reason="-", actor=driver(), now=days(1))
    return "done"


def signed_by(out: OutUnit, signed: Signed) -> str:
    _kept, new = sign_off_receive(
        out_unit_id=out.pk, signed=signed, photos={}, driver=driver(), now=days(0)
    )
    return "new" if new else "known"


def in_the_middle(first: Callable[[], str], second: Callable[[], str]) -> Future[str]:
    """Do the second while the first is done but not yet committed, and return what came of it."""

    def alone() -> str:
        try:
            return second()
        finally:
            connections.close_all()

    with ThreadPoolExecutor(1) as pool:
        with transaction.atomic():
            first()
            waiting = pool.submit(alone)
            time.sleep(0.7)
        waiting.exception(60)
        return waiting


def held_until(order: Order) -> date:
    return out_of(order).booking.ends_on


def overlaps() -> bool:
    standing = list(Booking.objects.filter(cancelled_at=None).order_by("unit", "starts_on"))
    pairs = pairwise(standing)
    return any(a.unit_id == b.unit_id and b.starts_on < a.free_on for a, b in pairs)


def test_one_extension_sent_many_times_is_agreed_once() -> None:
    order, key = ordered(), uuid4()
    said = all_at_once([partial(agree, order, shown(order), key)] * MANY)
    assert said == Counter({"done": MANY})
    assert HireChange.objects.count() == 1


def test_of_many_extensions_with_keys_of_their_own_one_is_agreed() -> None:
    order = ordered()
    difference = shown(order)
    said = all_at_once([partial(agree, order, difference, uuid4()) for _ in range(MANY)])
    assert said == Counter({"done": 1, "ChangeRefused": MANY - 1})
    assert held_until(order) == LONGER


def test_an_extension_and_the_next_hire_of_the_unit_never_overlap() -> None:
    """One unit is left; the next hire would begin before the new last day."""
    order = ordered()
    unit = out_of(order).unit
    others = Unit.objects.filter(set_type=unit.set_type).exclude(pk=unit.pk)
    others.update(state=UnitState.RETIRED)
    nexts = [quoted(hire={"start": "2027-06-17", "end": "2027-06-25"}) for _ in range(4)]
    acts = [partial(accept, quote) for quote in nexts]
    said = all_at_once([*acts, partial(agree, order, shown(order), uuid4())])
    assert said["won"] + said["done"] == 1
    assert set(said) <= {"won", "done", "JustTaken", "ChangeRefused"}
    assert not overlaps()


def test_many_swaps_of_a_unit_are_one() -> None:
    out = out_of(ordered())
    numbers = [unit.number for unit in units_for_swap(out, days(1))[:2]]
    said = all_at_once([partial(swap, out, numbers[n % 2]) for n in range(MANY)])
    assert said == Counter({"done": 1, "SwapRefused": MANY - 1})
    assert OutUnit.objects.filter(ended_at=None).count() == 1


def test_a_free_unit_is_swapped_in_for_one_of_many_only() -> None:
    outs = [out_of(ordered()) for _ in range(3)]
    fresh = units_for_swap(outs[0], days(1))[0].number
    said = all_at_once([partial(swap, out, fresh) for out in outs])
    assert said == Counter({"done": 1, "SwapRefused": len(outs) - 1})
    assert not overlaps()


def test_an_extension_agreed_while_the_unit_is_swapped_holds_the_fresh_unit() -> None:
    order = ordered()
    out, difference = out_of(order), shown(order)
    fresh = units_for_swap(out, days(1))[0].number
    agreed = in_the_middle(partial(swap, out, fresh), partial(agree, order, difference, uuid4()))
    assert agreed.result() == "done"
    assert out_of(order).unit.number == fresh
    assert held_until(order) == LONGER
    assert Booking.objects.get(pk=out.booking_id).ends_on == days(1).date()


def test_a_swap_made_while_an_extension_is_agreed_holds_the_fresh_unit_longer() -> None:
    order = ordered()
    out, difference = out_of(order), shown(order)
    fresh = units_for_swap(out, days(1))[0].number
    swapped = in_the_middle(partial(agree, order, difference, uuid4()), partial(swap, out, fresh))
    assert swapped.result() == "done"
    assert held_until(order) == LONGER


def test_a_hire_that_is_just_being_settled_is_not_extended() -> None:
    order = ordered()
    difference = shown(order)
    sign(out_of(order))
    counted = dict(sent_accessories(order.quote))
    sign(out_of(order), "return", now=days(13), engine_hours=Decimal(1500), accessories=counted)

    def settle() -> str:
        statement_make(order_id=order.pk, charges=(), actor=driver(), now=days(14))
        return "done"

    late = in_the_middle(settle, partial(agree, order, difference, uuid4()))
    assert isinstance(late.exception(), ChangeRefused)
    assert not HireChange.objects.exists()


def test_one_sign_off_sent_many_times_is_kept_once() -> None:
    out = out_of(ordered())
    signed = signed_for(out)
    driver()
    said = all_at_once([partial(signed_by, out, signed)] * MANY)
    assert said == Counter({"new": 1, "known": MANY - 1})
    assert SignOff.objects.count() == 1


def test_of_many_sign_offs_from_different_phones_one_is_kept() -> None:
    out = out_of(ordered())
    driver()
    said = all_at_once([partial(signed_by, out, signed_for(out)) for _ in range(MANY)])
    assert said == Counter({"new": 1, "AlreadySigned": MANY - 1})


def test_a_delivery_of_a_unit_that_is_just_being_swapped_is_not_signed() -> None:
    out = out_of(ordered())
    signed, fresh = signed_for(out), units_for_swap(out, days(1))[0].number
    late = in_the_middle(partial(swap, out, fresh), partial(signed_by, out, signed))
    assert isinstance(late.exception(), SignOffIncomplete)
    assert not SignOff.objects.exists()
