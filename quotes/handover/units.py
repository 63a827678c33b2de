"""Units that are out on an order: opened at acceptance, found by their token, swapped."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction

from intake.addresses import address
from intake.events.services import event_record
from intake.requests.errors import LinkRefused
from intake.requests.links import derived_token, token_hash
from quotes.bookings.errors import JustTaken
from quotes.bookings.selectors import Hold, units_free
from quotes.bookings.services import bookings_insert, taken_refused
from quotes.building.options import Document, options_of
from quotes.fleet.selectors import sets_by_code
from quotes.handover.errors import SwapRefused
from quotes.handover.job import HandoverJob, handover_job
from quotes.handover.telling import order_tell
from quotes.models import Booking, Branch, Order, OrderState, OutUnit, Quote, Unit

WITH_ALL = (
    "unit__set_type",
    "unit__branch",
    "booking",
    "order__request",
    "order__quote__request",
    "order__quote__run",
    "order__quote__branch",
    "order__quote__card",
)


def out_units_open(*, order: Order, now: datetime) -> list[OutUnit]:
    """Make the units of a new order known to the handover, inside the caller's transaction."""
    bookings = list(order.bookings.select_related("unit__set_type").order_by("unit_id"))
    positions = _positions(option_of(order.quote)["sets"], bookings)
    return [
        _open(order, booking, position, now)
        for booking, position in zip(bookings, positions, strict=True)
    ]


def option_of(quote: Quote) -> Document:
    """The option of the sizing run that was agreed."""
    found: Document = options_of(quote.run.result)[quote.content["source"]["option"]]
    return found


def _positions(sets: Sequence[Document], bookings: list[Booking]) -> list[int]:
    """Rows of the option that the booked units fill, each row as often as its quantity."""
    left = [int(one["quantity"]) for one in sets]
    found = []
    for booking in bookings:
        code = booking.unit.set_type.code
        rows = [row for row, one in enumerate(sets) if one["code"] == code and left[row]]
        left[rows[0]] -= 1
        found.append(rows[0])
    return found


def _open(
    order: Order, booking: Booking, position: int, now: datetime, replaces: OutUnit | None = None
) -> OutUnit:
    made = OutUnit(
        order=order,
        unit=booking.unit,
        booking=booking,
        position=position,
        token_hash=token_hash(unit_token(order.number, booking.unit.number, 1)),
        opened_at=now,
        replaces=replaces,
    )
    made.full_clean(exclude=["order", "unit", "booking", "replaces"])
    made.save(force_insert=True)
    return made


def unit_token(order_number: str, unit_number: str, generation: int) -> str:
    """The token on a unit's sheet: 256 bits derived from the secret key, the same every time."""
    return derived_token("quotes.handover.unit", order_number, unit_number, generation)


def unit_link(out: OutUnit) -> str:
    """The address in the code on the unit's sheet."""
    return token_link(unit_token(out.order.number, out.unit.number, out.generation))


def token_link(token: str) -> str:
    """The address of the unit's page that a token opens."""
    link: str = settings.SETWRIGHT_SITE_URL + address("quotes:set", token)
    return link


def unit_by_token(token: str) -> OutUnit:
    """The unit a token opens while it is out, or ``LinkRefused``."""
    found = (
        OutUnit.objects.select_related(*WITH_ALL)
        .filter(token_hash=token_hash(token), ended_at=None)
        .first()
    )
    if found is None:
        raise LinkRefused
    return found


def job_of_unit(out: OutUnit) -> HandoverJob:
    """The facts of the job that a unit is out on."""
    quote = out.order.quote
    return handover_job(
        requirement=quote.run.requirement,
        result=quote.run.result,
        option=option_of(quote),
        set_=sets_by_code()[out.unit.set_type.code],
        choices=quote.choices,
        position=out.position,
    )


def today_at(quote: Quote, now: datetime) -> date:
    """The day at the branch."""
    assert quote.branch is not None
    return now.astimezone(ZoneInfo(quote.branch.timezone)).date()


def units_for_swap(out: OutUnit, now: datetime) -> list[Unit]:
    """Units of the same type that are free for the rest of the hire, those of the branch first."""
    hold, code = _rest(out, now), out.unit.set_type.code
    branches = sorted(Branch.objects.all(), key=lambda one: one.pk != out.unit.branch_id)
    found = [
        unit for branch in branches for unit in units_free(set_code=code, branch=branch, hold=hold)
    ]
    return [unit for unit in found if unit.pk != out.unit_id]


def _rest(out: OutUnit, now: datetime) -> Hold:
    today = max(today_at(out.order.quote, now), out.booking.starts_on)
    return Hold(today, out.booking.ends_on, out.booking.free_on)


@transaction.atomic
def unit_swap(
    *, out_unit_id: int, unit_number: str, reason: str, actor: User, now: datetime
) -> OutUnit:
    """Put another unit of the type in a unit's place; the old one's record stays with the order.

    1. Wait for a new last day that is just being agreed, else the fresh unit misses it. 2. Only
    while the unit is out. 3. The old booking ends today, the new one holds the rest.
    """
    Order.objects.select_for_update(of=("self",)).get(out_units=out_unit_id)
    out = OutUnit.objects.select_related(*WITH_ALL).get(pk=out_unit_id)
    if out.ended_at is not None or out.order.state != OrderState.CONFIRMED:
        raise SwapRefused("This unit is not out any more.")
    rest = _rest(out, now)
    fresh = next((one for one in units_for_swap(out, now) if one.number == unit_number), None)
    if fresh is None:
        raise SwapRefused("That unit is not free for the rest of the hire. Choose one of the list.")
    ended = OutUnit.objects.filter(pk=out.pk, ended_at=None).update(
        ended_at=now, end_reason=reason[:300]
    )
    if ended != 1:
        raise SwapRefused("Somebody swapped this unit a moment ago.")
    _booking_end(out, rest.starts_on)
    try:
        with taken_refused():
            (booking,) = bookings_insert(order=out.order, units=[fresh], hold=rest, now=now)
    except JustTaken as taken:
        raise SwapRefused("That unit was taken a moment ago. Choose another.") from taken
    made = _open(out.order, booking, out.position, now, replaces=out)
    _record(out, "unit_swapped", actor, now, after=fresh.number, reason=reason)
    order_tell(order=out.order, change="unit_swapped", now=now)
    return made


def _booking_end(out: OutUnit, on: date) -> None:
    turnaround = timedelta(days=1 + out.unit.branch.turnaround_days)
    Booking.objects.filter(pk=out.booking_id).update(
        ends_on=on, free_on=min(out.booking.free_on, on + turnaround)
    )


def _record(out: OutUnit, kind: str, actor: Any, now: datetime, **data: Any) -> None:
    event_record(
        kind=kind,
        now=now,
        actor=actor,
        request=out.order.request,
        subject=out.unit.number,
        **data,
    )
