"""A longer or shorter hire: the new price is shown, then agreed to, line by line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils.translation import gettext as _

from intake.events.services import event_record
from intake.outbox.services import outbox_put
from intake.prepared import A_KEY, Prepared
from quotes.bookings.errors import JustTaken
from quotes.bookings.selectors import bookings_overlapping, hold_for
from quotes.bookings.services import taken_refused
from quotes.building.options import job_for
from quotes.fleet.selectors import catalogue
from quotes.handover.errors import ChangeRefused, PriceMoved
from quotes.handover.telling import order_tell
from quotes.handover.units import option_of
from quotes.models import Booking, ChangeKind, HireChange, Order, OrderState, Quote, Unit
from quotes.pricing.errors import PricingError
from quotes.pricing.job import Job
from quotes.pricing.money import ZERO, cents
from quotes.pricing.price import price
from quotes.pricing.sheet import Line, Sheet
from quotes.pricing.tax import tax_lines
from quotes.pricing.terms import Terms
from quotes.rates.selectors import terms_for
from sizing.places import place

LONGEST_STEP_DAYS = 365
TOPIC = "quotes.mail_hire_change"
WITH_ALL = (
    "request__organisation", "quote__request__organisation", "quote__run", "quote__branch",
    "quote__card",
)  # fmt: skip

CHANGES = Prepared(lambda order: HireChange.objects.filter(order=order).order_by("id"), A_KEY)


@dataclass(frozen=True, slots=True)
class Proposal:
    """What a new last day comes to."""

    kind: str
    from_end: date
    to_end: date
    charged_to: date
    lines: tuple[Line, ...]
    difference: Decimal  # with taxes
    total: Decimal  # of the hire, with taxes


def changes_of(order: Order) -> list[HireChange]:
    """All changes agreed to, in their order: for a page that asks for several figures."""
    return CHANGES.rows(order.pk)


def _last_change(order: Order, changes: Sequence[HireChange] | None) -> HireChange | None:
    if changes is not None:
        return changes[-1] if changes else None
    return HireChange.objects.filter(order=order).order_by("-id").first()


def hire_end(order: Order, changes: Sequence[HireChange] | None = None) -> date:
    """The last day of hire as it stands."""
    last = _last_change(order, changes)
    assert order.quote.ends_on is not None
    return last.to_end if last else order.quote.ends_on


def charged_end(order: Order) -> date:
    """The last day charged as it stands."""
    last = _last_change(order, None)
    assert order.quote.ends_on is not None
    return last.charged_to if last else order.quote.ends_on


def agreed_total(order: Order, changes: Sequence[HireChange] | None = None) -> Decimal:
    """What the hire costs as agreed, with taxes."""
    last = _last_change(order, changes)
    return last.total if last else order.quote.total


def job_until(quote: Quote, end: date) -> Job:
    """The quoted job with another last day; everything else as it was agreed."""
    job = job_for(
        quote=quote,
        option=option_of(quote),
        priced_as=quote.content["source"]["priced_as"],
        hired_out=catalogue(),
    )
    return replace(job, end=end)


def terms_of(quote: Quote) -> Terms:
    """The terms the quote was made by."""
    assert quote.card is not None
    assert quote.starts_on is not None
    site = place(quote.run.requirement["site"]["zip"])
    return terms_for(
        card=quote.card,
        zip_code=site.zip,
        state=site.state,
        starts_on=quote.starts_on,
        organisation=quote.request.organisation,
    )


def line_differences(before: Sheet, after: Sheet, why: str) -> tuple[Line, ...]:
    """What each line costs more or less, lines that cost the same left out."""
    old = {(line.kind, line.code): line for line in before.lines}
    new = {(line.kind, line.code): line for line in after.lines}
    found = []
    for key in dict.fromkeys([*old, *new]):
        line = new.get(key) or old[key]
        if amount := _amount(new.get(key)) - _amount(old.get(key)):
            reason = (
                f"{why} {line.label}: {_amount(old.get(key))} before, {_amount(new.get(key))} now."
            )
            found.append(
                Line(line.kind, line.code, line.label, Decimal(1), "", amount, amount, reason)
            )
    return tuple(found)


def _amount(line: Line | None) -> Decimal:
    return line.amount if line else ZERO


def change_propose(*, order: Order, to_end: date, now: datetime) -> Proposal:
    """Price a new last day; ``ChangeRefused`` where it cannot be had without a person."""
    quote, from_end = order.quote, hire_end(order)
    kind = ChangeKind.EXTENSION if to_end > from_end else ChangeKind.OFF_HIRE
    _refuse_impossible(order, from_end, to_end, now)
    terms = terms_of(quote)
    charged_to = to_end if kind == ChangeKind.EXTENSION else _charged_to(order, to_end, terms, now)
    why = _why(kind, from_end, to_end, charged_to)
    try:
        before = price(job_until(quote, charged_end(order)), terms)
        after = price(job_until(quote, charged_to), terms)
    except PricingError as error:
        raise ChangeRefused(str(error)) from error
    lines = line_differences(before, after, why)
    difference = _with_taxes(lines, terms)
    return Proposal(
        kind, from_end, to_end, charged_to, lines, difference, agreed_total(order) + difference
    )


def _refuse_impossible(order: Order, from_end: date, to_end: date, now: datetime) -> None:
    quote = order.quote
    assert quote.branch is not None
    assert quote.starts_on is not None
    today = now.astimezone(ZoneInfo(quote.branch.timezone)).date()
    if order.state != OrderState.CONFIRMED:
        raise ChangeRefused(_("This hire is over; call us for anything more."))
    if to_end == from_end:
        raise ChangeRefused(_("That is the last day already."))
    if to_end < max(today, quote.starts_on):
        raise ChangeRefused(_("Choose today or a later day, from the first day of hire on."))
    if to_end > from_end + timedelta(days=LONGEST_STEP_DAYS):
        raise ChangeRefused(_("So long a hire is priced by a person. Call us."))
    if to_end > from_end and _held_by_others(order, to_end):
        raise ChangeRefused(
            _("The set goes to its next hire before that day. Call us: we find another.")
        )


def _held_by_others(order: Order, to_end: date) -> bool:
    quote = order.quote
    assert quote.branch is not None
    assert quote.starts_on is not None
    hold = hold_for(quote.branch, quote.starts_on, to_end)
    units = _standing(order).values("unit")
    return bookings_overlapping(hold).filter(unit__in=units).exclude(order=order).exists()


def _standing(order: Order) -> Any:
    """Bookings of units that are out or still to go out."""
    return Booking.objects.filter(order=order, cancelled_at=None, out_unit__ended_at=None)


def _charged_to(order: Order, to_end: date, terms: Terms, now: datetime) -> date:
    """The last day charged: today is free where we are told by the cutoff."""
    quote = order.quote
    assert quote.branch is not None
    assert quote.starts_on is not None
    here = now.astimezone(ZoneInfo(quote.branch.timezone))
    told = here.time() if to_end == here.date() else None
    return max(quote.starts_on, last_charged_day(to_end, told, terms.off_hire_cutoff))


def last_charged_day(end: date, off_hire_at: time | None, cutoff: time) -> date:
    """The last day charged: a set called off hire by the cutoff is not charged that day.

    Common practice, no source: a part of a day is a day, except the last one before the cutoff.
    """
    early = off_hire_at is not None and off_hire_at <= cutoff
    return end - timedelta(days=1) if early else end


def _why(kind: str, from_end: date, to_end: date, charged_to: date) -> str:
    if kind == ChangeKind.EXTENSION:
        return f"Longer: until {to_end:%d %b %Y} instead of {from_end:%d %b %Y}."
    told = f"Off hire {to_end:%d %b %Y} instead of {from_end:%d %b %Y}"
    return f"{told}, charged to {charged_to:%d %b %Y}."


def _with_taxes(lines: tuple[Line, ...], terms: Terms) -> Decimal:
    sheet = Sheet(lines=list(lines))
    tax_lines(terms, sheet)
    return cents(sheet.total)


@transaction.atomic
def change_agree(
    *,
    order_id: int,
    to_end: date,
    difference: Decimal,
    name: str,
    client_key: UUID,
    now: datetime,
) -> HireChange:
    """Agree to a new last day at the price that was shown; agreed twice it is kept once.

    1. Price it anew: what was shown must still hold. 2. Hold the units to the new day.
    3. Keep the lines, tell both sides.
    """
    Order.objects.select_for_update(of=("self",)).get(pk=order_id)
    order = Order.objects.select_related(*WITH_ALL).get(pk=order_id)  # as it stands under the lock
    known = HireChange.objects.filter(order=order, client_key=client_key).first()
    if known is not None:
        return known
    proposal = change_propose(order=order, to_end=to_end, now=now)
    if proposal.difference != difference:
        raise PriceMoved
    _bookings_move(order, to_end)
    made = HireChange(
        order=order,
        client_key=client_key,
        kind=proposal.kind,
        from_end=proposal.from_end,
        to_end=to_end,
        charged_to=proposal.charged_to,
        name=name,
        agreed_at=now,
        lines=[_line_document(line) for line in proposal.lines],
        difference=proposal.difference,
        total=proposal.total,
    )
    made.full_clean(exclude=["order"])
    made.save(force_insert=True)
    _tell(order, made, now)
    return made


def _line_document(line: Line) -> dict[str, str]:
    return {
        "kind": line.kind.value,
        "code": line.code,
        "label": line.label,
        "amount": str(line.amount),
        "why": line.why,
    }


def _bookings_move(order: Order, to_end: date) -> None:
    """Move the end of the bookings, the units locked in one order; refuse what overlaps."""
    assert order.quote.branch is not None
    bookings = list(_standing(order).order_by("unit_id"))
    list(
        Unit.objects.select_for_update(of=("self",))
        .filter(pk__in=[one.unit_id for one in bookings])
        .order_by("pk")
    )
    if to_end > max((one.ends_on for one in bookings), default=to_end) and _held_by_others(
        order, to_end
    ):
        raise ChangeRefused(_("The set was promised to another hire a moment ago. Call us."))
    for booking in bookings:
        hold = hold_for(order.quote.branch, booking.starts_on, max(to_end, booking.starts_on))
        try:
            with taken_refused():
                Booking.objects.filter(pk=booking.pk).update(
                    ends_on=hold.ends_on, free_on=hold.free_on
                )
        except JustTaken as taken:
            raise ChangeRefused(
                _("The set was promised to another hire a moment ago. Call us.")
            ) from taken


def _tell(order: Order, made: HireChange, now: datetime) -> None:
    event_record(
        kind="hire_changed",
        now=now,
        actor="customer",
        request=order.request,
        subject=order.number,
        name=made.name,
        kind_of=made.kind,
        until_day=f"{made.to_end:%d %b %Y}",
        difference=str(made.difference),
    )
    outbox_put(topic=TOPIC, payload={"change_id": made.pk}, queue="mail", now=now)
    order_tell(order=order, change=str(made.kind), now=now)
