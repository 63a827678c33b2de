"""Promises about quotes, orders and bookings."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce

from intake.audit.breach import Breach, Invariant
from intake.models import Event, HireRequest, OutboxMessage, Status
from quotes.acceptance.services import sets_of
from quotes.models import (
    Acceptance,
    Booking,
    HireChange,
    Order,
    OrderState,
    OutUnit,
    Quote,
    QuoteDocument,
    QuoteState,
)

WITH_TOTALS = (
    QuoteState.OFFERED,
    QuoteState.ACCEPTED,
    QuoteState.DECLINED,
    QuoteState.SUPERSEDED,
    QuoteState.EXPIRED,
)
LETTERS_KEPT = timedelta(days=29)  # messages that are done are deleted after thirty
ZERO = Decimal("0.00")


def booked_twice(now: datetime) -> Iterator[Breach]:
    """No two bookings of a unit that stand share a day."""
    same = Booking.objects.filter(
        cancelled_at=None,
        unit=OuterRef("unit"),
        pk__gt=OuterRef("pk"),
        starts_on__lt=OuterRef("free_on"),
        free_on__gt=OuterRef("starts_on"),
    )
    stands = Booking.objects.filter(Exists(same), cancelled_at=None)
    for booking in stands.select_related("unit", "order", "need"):
        holder = f"Order {booking.order}" if booking.order else f"The need of {booking.need}"
        detail = f"{holder} and another hold it on the same days."
        yield Breach("booked_twice", str(booking), detail)


def confirmed() -> Any:
    orders = Order.objects.filter(state=OrderState.CONFIRMED)
    return orders.select_related("request", "quote__request", "quote__run")


def order_without_units(now: datetime) -> Iterator[Breach]:
    """A confirmed order holds as many units of each type as its quote promised."""
    for order in confirmed().prefetch_related("bookings__unit__set_type"):
        wanted = sets_of(order.quote)
        held: dict[str, int] = {}
        for booking in order.bookings.all():
            if booking.cancelled_at is None:
                code = booking.unit.set_type.code
                held[code] = held.get(code, 0) + 1
        if sum(held.values()) < sum(wanted.values()):
            detail = f"It holds {held or 'nothing'}, but {wanted} were promised."
            yield Breach("order_without_units", order.number, detail)


def held_to_another_day(now: datetime) -> Iterator[Breach]:
    """Every unit that is out is held to the last day that was agreed."""
    changes = HireChange.objects.filter(order=OuterRef("order")).order_by("-id")
    agreed = Coalesce(Subquery(changes.values("to_end")[:1]), F("order__quote__ends_on"))
    outs = OutUnit.objects.filter(ended_at=None, order__state=OrderState.CONFIRMED)
    for out in (
        outs.annotate(agreed=agreed)
        .exclude(Q(booking__ends_on=F("agreed")) | Q(booking__starts_on__gt=F("agreed")))
        .select_related("unit", "order", "booking")
    ):
        detail = f"It is held until {out.booking.ends_on}, but {out.agreed} was agreed."
        yield Breach("held_to_another_day", str(out), detail)


def order_without_acceptance(now: datetime) -> Iterator[Breach]:
    signed = Acceptance.objects.filter(order=OuterRef("pk"))
    for order in Order.objects.filter(~Exists(signed)):
        detail = "Nobody is recorded to have accepted it."
        yield Breach("order_without_acceptance", order.number, detail)


def order_accepted_once(now: datetime) -> Iterator[Breach]:
    """The record has one acceptance a request with an order."""
    for order in Order.objects.select_related("request"):
        times = Event.objects.filter(request=order.request, kind="quote_accepted").count()
        if times != 1:
            yield Breach("order_accepted_once", order.number, f"It was accepted {times} times.")


def order_without_letter(now: datetime) -> Iterator[Breach]:
    """Every order of the last weeks has one message that mails its confirmation."""
    letters = OutboxMessage.objects.filter(topic="quotes.mail_order")
    found = list(letters.values_list("payload__order_id", flat=True))
    for order in Order.objects.filter(made_at__gt=now - LETTERS_KEPT):
        times = found.count(order.pk)
        if times != 1:
            yield Breach("order_without_letter", order.number, f"It has {times} letters.")


def acceptance_of_other_total(now: datetime) -> Iterator[Breach]:
    """What was accepted is what was offered: the same total, the same document."""
    signed = Acceptance.objects.select_related("order__quote__document")
    for one in signed:
        quote = one.order.quote
        kept: QuoteDocument | None = getattr(quote, "document", None)
        if one.total != quote.total or kept is None or one.document_sha256 != kept.sha256:
            detail = "The accepted total or document is not that of the quote."
            yield Breach("acceptance_of_other_total", one.order.number, detail)


def total_off(now: datetime) -> Iterator[Breach]:
    """Net is the sum of the lines, tax of the taxes, the total of both."""
    quotes = Quote.objects.filter(state__in=WITH_TOTALS).select_related("request")
    for quote in quotes.prefetch_related("lines", "taxes").iterator(chunk_size=500):
        net = sum((line.amount for line in quote.lines.all()), ZERO)
        tax = sum((one.amount for one in quote.taxes.all()), ZERO)
        if (net, tax, net + tax) != (quote.net, quote.tax, quote.total):
            detail = f"Its lines make {net} and {tax} tax, but it says {quote.total}."
            yield Breach("total_off", quote.number, detail)


def quoted_without_offer(now: datetime) -> Iterator[Breach]:
    offered = Quote.objects.filter(request=OuterRef("pk"), state=QuoteState.OFFERED)
    for request in HireRequest.objects.filter(~Exists(offered), status=Status.QUOTED):
        detail = "It counts as quoted, but no offer is open."
        yield Breach("quoted_without_offer", request.reference, detail)


def ordered_without_order(now: datetime) -> Iterator[Breach]:
    orders = Order.objects.filter(request=OuterRef("pk"))
    for request in HireRequest.objects.filter(~Exists(orders), status=Status.ORDERED):
        detail = "It counts as ordered, but there is no order."
        yield Breach("ordered_without_order", request.reference, detail)


def offer_without_document(now: datetime) -> Iterator[Breach]:
    documents = QuoteDocument.objects.filter(quote=OuterRef("pk"))
    offers = Quote.objects.filter(~Exists(documents), state__in=WITH_TOTALS)
    for quote in offers.select_related("request"):
        yield Breach("offer_without_document", quote.number, "It was offered without a document.")


def revisions_with_holes(now: datetime) -> Iterator[Breach]:
    """Every revision but the first has the one before it."""
    before = Quote.objects.filter(request=OuterRef("request"), revision=OuterRef("earlier"))
    later = Quote.objects.filter(revision__gt=1).annotate(earlier=F("revision") - 1)
    for quote in later.filter(~Exists(before)).select_related("request"):
        detail = "The revision before it is missing."
        yield Breach("revisions_with_holes", quote.number, detail)


INVARIANTS = (
    Invariant("booked_twice", "no unit is booked twice on a day", booked_twice),
    Invariant("order_without_units", "every order holds its units", order_without_units),
    Invariant("held_to_another_day", "every unit out is held as agreed", held_to_another_day),
    Invariant("order_without_acceptance", "every order was accepted", order_without_acceptance),
    Invariant("order_accepted_once", "every order was accepted once", order_accepted_once),
    Invariant("order_without_letter", "every order has its letter", order_without_letter),
    Invariant(
        "acceptance_of_other_total", "what was accepted was offered", acceptance_of_other_total
    ),
    Invariant("total_off", "every total is the sum of its lines", total_off),
    Invariant("quoted_without_offer", "what is quoted has an open offer", quoted_without_offer),
    Invariant("ordered_without_order", "what is ordered has an order", ordered_without_order),
    Invariant("offer_without_document", "every offer has its document", offer_without_document),
    Invariant("revisions_with_holes", "no revision is missing", revisions_with_holes),
)
