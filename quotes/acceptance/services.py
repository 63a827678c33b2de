"""Accepting, declining, asking for a change, choosing another option."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from intake.events.services import event_record
from intake.models import HireRequest, Status
from intake.outbox.services import outbox_put
from intake.requests.errors import MoveRefused
from intake.requests.status import request_move
from intake.webhooks.services import webhook_emit
from quotes.acceptance.errors import OfferClosed
from quotes.bookings.selectors import hold_for
from quotes.bookings.services import bookings_make
from quotes.building.moves import quote_move
from quotes.building.options import options_of, sets_wanted
from quotes.building.services import TOPIC, request_refer
from quotes.handover.units import out_units_open
from quotes.models import Acceptance, CustomerWord, Order, Quote, QuoteState


@dataclass(frozen=True, slots=True)
class Signature:
    """Who accepted and from where."""

    name: str
    role: str = ""
    purchase_order: str = ""
    address: str | None = None


def quote_accept(
    *, quote_id: int, terms_version: str, signature: Signature, now: datetime
) -> Order:
    """Accept an offer: order, booking, record and mail, all of it or nothing.

    1. Close the offer, which only one of many at once can do, and only while it holds.
    2. Move the request, make the order.
    3. Hold the units; if they are gone the whole acceptance is undone.
    4. Write the record of who accepted what, the event, the mail and the webhooks to send.
    """
    quote = Quote.objects.select_related("request", "run", "branch").get(pk=quote_id)
    _refuse_closed(quote, terms_version, now)
    with transaction.atomic():
        try:
            _offer_close(quote, QuoteState.ACCEPTED, Status.ORDERED)
        except MoveRefused:  # lost a race: told the same as whoever comes later
            raise OfferClosed from None
        order = _order_make(quote, now)
        _units_hold(quote, order, now)
        out_units_open(order=order, now=now)
        _acceptance_write(quote, order, signature, now)
        outbox_put(topic="quotes.mail_order", payload={"order_id": order.pk}, queue="mail", now=now)
        _tell(quote, order, now)
    return order


def _tell(quote: Quote, order: Order, now: datetime) -> None:
    payload = {
        "reference": quote.request.reference, "quote": quote.number, "order": order.number,
    }  # fmt: skip
    webhook_emit(kind="quote.accepted", payload=payload, now=now)


def _refuse_closed(quote: Quote, terms_version: str, now: datetime) -> None:
    if quote.state != QuoteState.OFFERED or quote.valid_until is None or quote.valid_until < now:
        raise OfferClosed
    if quote.terms_version != terms_version:
        raise OfferClosed(_("The terms changed while you read them. Please read them again."))


def _offer_close(quote: Quote, target: str, status: str) -> None:
    quote_move(quote_id=quote.pk, origin=QuoteState.OFFERED, target=target)
    request_move(request_id=quote.request_id, origin=Status.QUOTED, target=status)


def _order_make(quote: Quote, now: datetime) -> Order:
    order = Order(
        number=f"{quote.request.reference}-R{quote.revision}",
        request=quote.request,
        quote=quote,
        made_at=now,
    )
    order.full_clean(exclude=["request", "quote"])
    order.save(force_insert=True)
    return order


def sets_of(quote: Quote) -> dict[str, int]:
    """Units that a quote promises, by type."""
    option = options_of(quote.run.result)[quote.content["source"]["option"]]
    return sets_wanted(option)


def _units_hold(quote: Quote, order: Order, now: datetime) -> None:
    assert quote.branch is not None
    assert quote.starts_on is not None
    assert quote.ends_on is not None
    hold = hold_for(quote.branch, quote.starts_on, quote.ends_on)
    bookings_make(order=order, sets=sets_of(quote), branch=quote.branch, hold=hold, now=now)


def _acceptance_write(quote: Quote, order: Order, signature: Signature, now: datetime) -> None:
    acceptance = Acceptance(
        order=order,
        name=signature.name,
        role=signature.role,
        purchase_order=signature.purchase_order,
        terms_version=quote.terms_version,
        total=quote.total,
        document_sha256=quote.document.sha256,
        accepted_at=now,
        address=signature.address,
    )
    acceptance.full_clean(exclude=["order"])
    acceptance.save(force_insert=True)
    event_record(
        kind="quote_accepted",
        now=now,
        actor="customer",
        request=quote.request,
        subject=quote.number,
        name=signature.name,
        order=order.number,
        total=str(quote.total),
    )


@transaction.atomic
def quote_decline(*, quote_id: int, words: str, now: datetime) -> None:
    """Close an offer the customer does not want; the words are kept."""
    quote = Quote.objects.select_related("request").get(pk=quote_id)
    _offer_close(quote, QuoteState.DECLINED, Status.DECLINED)
    _words_keep(quote, "decline", words, now)
    event_record(
        kind="quote_declined",
        now=now,
        actor="customer",
        request=quote.request,
        subject=quote.number,
        words=words or "-",
    )


@transaction.atomic
def quote_change_ask(*, quote_id: int, words: str, now: datetime) -> None:
    """Send the request back to a rep with what the customer would like changed."""
    quote = Quote.objects.select_related("request", "run").get(pk=quote_id)
    _offer_close(quote, QuoteState.REFERRED, Status.IN_REVIEW)
    _words_keep(quote, "change", words, now)
    event_record(
        kind="quote_change_asked",
        now=now,
        actor="customer",
        request=quote.request,
        subject=quote.number,
        words=words,
    )
    request_refer(
        request=quote.request,
        run=quote.run,
        code="change_asked",
        detail=words,
        question=_("What should the new quote change?"),
        now=now,
    )


def _words_keep(quote: Quote, kind: str, words: str, now: datetime) -> None:
    word = CustomerWord(quote=quote, kind=kind, words=words or "-", said_at=now)
    word.full_clean(exclude=["quote"])
    word.save(force_insert=True)


@transaction.atomic
def quote_again(
    *,
    request: HireRequest,
    run_number: int,
    choices: dict[str, Any],
    reason: str,
    actor: Any = "customer",
    now: datetime,
) -> None:
    """Ask for a new revision; the offer that stands is replaced only when the new one is there."""
    request_move(request_id=request.pk, origin=request.status, target=Status.PRICING)
    event_record(kind="quote_asked", now=now, actor=actor, request=request, reason=reason)
    outbox_put(
        topic=TOPIC,
        payload={
            "request_id": request.pk,
            "run_number": run_number,
            "choices": choices,
            "reason": reason,
        },
        queue="emergency" if is_emergency(request) else "quotes",
        now=now,
    )


def is_emergency(request: HireRequest) -> bool:
    """Whether the request's work goes before other work."""
    run = request.runs.order_by("-number").first()
    return run is not None and run.requirement.get("application") == "emergency"
