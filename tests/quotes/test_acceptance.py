"""Accepting: the record, the order and the booking are one act."""

from __future__ import annotations

from datetime import timedelta

import pytest

from intake.models import Event, OutboxMessage, Status
from quotes.acceptance.errors import OfferClosed
from quotes.acceptance.services import Signature, quote_accept, quote_change_ask, quote_decline
from quotes.bookings.errors import JustTaken
from quotes.models import Acceptance, Booking, Order, Quote, QuoteState, Unit, UnitState
from tests.quotes.cast import NOW, quoted

pytestmark = pytest.mark.django_db
ADA = Signature(name="Ada Story", role="site manager", purchase_order="PO 7", address="192.0.2.7")


def accept(quote: Quote) -> Order:
    return quote_accept(
        quote_id=quote.pk, terms_version=quote.terms_version, signature=ADA, now=NOW
    )


def test_acceptance_keeps_who_what_and_when(company: None) -> None:
    quote = quoted()
    order = accept(quote)
    kept = Acceptance.objects.get(order=order)
    assert (kept.name, kept.role, kept.purchase_order) == ("Ada Story", "site manager", "PO 7")
    assert (kept.terms_version, kept.accepted_at) == (quote.terms_version, NOW)
    assert (kept.total, kept.document_sha256) == (quote.total, quote.document.sha256)
    assert Event.objects.filter(kind="quote_accepted", request=quote.request).count() == 1
    assert OutboxMessage.objects.filter(topic="quotes.mail_order").count() == 1


def test_acceptance_holds_a_unit_with_its_turnaround(company: None) -> None:
    quote = quoted()
    order = accept(quote)
    booking = Booking.objects.get(order=order)
    assert quote.branch is not None
    assert booking.free_on - booking.ends_on == timedelta(days=1 + quote.branch.turnaround_days)
    quote.request.refresh_from_db()
    assert quote.request.status == Status.ORDERED


def test_an_offer_is_accepted_once(company: None) -> None:
    quote = quoted()
    accept(quote)
    with pytest.raises(OfferClosed):
        accept(quote)


def test_an_offer_that_ran_out_is_refused(company: None) -> None:
    quote = quoted()
    assert quote.valid_until is not None
    with pytest.raises(OfferClosed):
        quote_accept(
            quote_id=quote.pk,
            terms_version=quote.terms_version,
            signature=ADA,
            now=quote.valid_until + timedelta(seconds=1),
        )


def test_other_terms_than_those_read_are_refused(company: None) -> None:
    quote = quoted()
    with pytest.raises(OfferClosed):
        quote_accept(quote_id=quote.pk, terms_version="older", signature=ADA, now=NOW)


def test_the_second_of_two_for_the_last_unit_is_left_whole(company: None) -> None:
    first, second = quoted(), quoted()
    code = first.lines.get(kind="hire").code
    keep = Unit.objects.filter(set_type__code=code, branch=first.branch).first()
    assert keep is not None
    Unit.objects.filter(set_type__code=code).exclude(pk=keep.pk).update(state=UnitState.RETIRED)
    accept(first)
    with pytest.raises(JustTaken):
        accept(second)
    second.refresh_from_db()
    second.request.refresh_from_db()
    assert (second.state, second.request.status) == (QuoteState.OFFERED, Status.QUOTED)
    assert not Order.objects.filter(quote=second).exists()


def test_declining_keeps_the_words(company: None) -> None:
    quote = quoted()
    quote_decline(quote_id=quote.pk, words="Too dear.", now=NOW)
    quote.refresh_from_db()
    assert quote.state == QuoteState.DECLINED
    assert quote.words.get().words == "Too dear."


def test_a_wish_for_change_opens_a_case_with_the_words(company: None) -> None:
    quote = quoted()
    quote_change_ask(quote_id=quote.pk, words="A quieter one, please.", now=NOW)
    case = quote.request.case
    assert case.reason == "change_asked"
    assert case.findings.get(code="change_asked").detail == "A quieter one, please."
