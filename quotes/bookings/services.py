"""Holding units. No two bookings of a unit ever overlap.

PostgreSQL: the candidate units are locked in the order of their ids, so two acceptances wait for
each other instead of colliding, and the exclusion constraint refuses whatever still overlaps.
SQLite: every transaction is IMMEDIATE, so check and insert are one act.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime

from django.db import DatabaseError, connection, transaction

from quotes.bookings.errors import JustTaken
from quotes.bookings.selectors import Hold, bookings_overlapping, units_free
from quotes.models import Booking, Branch, Need, Order, Unit, UnitState

EXCLUSION_VIOLATION = "23P01"
DEADLOCK = "40P01"


@contextmanager
def taken_refused() -> Iterator[None]:
    """Turn the database's refusal of an overlap, and a deadlock, into ``JustTaken``."""
    try:
        yield
    except DatabaseError as error:
        if sqlstate(error) in (EXCLUSION_VIOLATION, DEADLOCK):
            raise JustTaken from error
        raise


def sqlstate(error: BaseException) -> str:
    """The SQLSTATE behind a database error; empty where the database has none."""
    return str(getattr(error.__cause__, "sqlstate", "") or "")


def bookings_make(
    *, order: Order, sets: dict[str, int], branch: Branch, hold: Hold, now: datetime
) -> list[Booking]:
    """Hold so many units of each type for an order, inside the caller's transaction.

    1. Lock the candidates of all types in one order.
    2. Choose the free ones as they are under the lock.
    3. Insert, sorted by unit.
    """
    assert transaction.get_connection().in_atomic_block
    with taken_refused():
        _candidates_lock(sets, branch)
        units = _units_choose(sets, branch, hold)
        return bookings_insert(order=order, units=units, hold=hold, now=now)


def _candidates_lock(sets: dict[str, int], branch: Branch) -> None:
    if connection.features.has_select_for_update:
        candidates = Unit.objects.select_for_update(of=("self",)).filter(
            set_type__code__in=sets, branch=branch, state=UnitState.IN_SERVICE
        )
        list(candidates.order_by("pk").values_list("pk", flat=True))


def _units_choose(sets: dict[str, int], branch: Branch, hold: Hold) -> list[Unit]:
    chosen: list[Unit] = []
    for code, count in sets.items():
        free = list(units_free(set_code=code, branch=branch, hold=hold)[:count])
        if len(free) < count:
            raise JustTaken(set=code)
        chosen += free
    return chosen


def bookings_insert(
    *,
    units: list[Unit],
    hold: Hold,
    now: datetime,
    order: Order | None = None,
    need: Need | None = None,
) -> list[Booking]:
    """Insert one booking a unit, in the order of their ids; refuse what overlaps."""
    made = []
    for unit in sorted(units, key=lambda unit: unit.pk):
        if bookings_overlapping(hold).filter(unit=unit).exists():
            raise JustTaken(unit=unit.number)
        booking = Booking(
            unit=unit,
            order=order,
            need=need,
            starts_on=hold.starts_on,
            ends_on=hold.ends_on,
            free_on=hold.free_on,
            made_at=now,
        )
        booking.full_clean(validate_constraints=False)
        booking.save(force_insert=True)
        made.append(booking)
    return made


def units_lock(*, numbers: Iterable[str]) -> list[Unit]:
    """Lock named units, in the order of their ids, as they are now."""
    units = Unit.objects.filter(number__in=numbers).select_related("branch", "set_type")
    if connection.features.has_select_for_update:
        units = units.select_for_update(of=("self",))
    return list(units.order_by("pk"))


def bookings_cancel(*, order: Order, now: datetime) -> int:
    """Free the units of an order."""
    return Booking.objects.filter(order=order, cancelled_at=None).update(cancelled_at=now)


def need_bookings_cancel(*, needs: Iterable[int], now: datetime) -> int:
    """Free the units held for needs of an emergency."""
    held = Booking.objects.filter(need__in=needs, order=None, cancelled_at=None)
    return held.update(cancelled_at=now)
