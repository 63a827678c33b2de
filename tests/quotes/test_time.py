"""What time does to offers."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.core import mail

from intake.models import OutboxMessage, Status
from quotes.acceptance.errors import OfferClosed
from quotes.acceptance.services import Signature, quote_accept
from quotes.mailing.letters import order_letter, quote_letter
from quotes.models import Quote, QuoteState
from quotes.offers.differences import differences
from quotes.offers.services import offers_expire, offers_remind
from tests.quotes.cast import NOW, deliver, quote_asked, quoted

pytestmark = pytest.mark.django_db
SECOND = timedelta(seconds=1)


def test_an_offer_runs_out_at_its_last_second(company: None) -> None:
    quote = quoted()
    assert quote.valid_until is not None
    assert offers_expire(now=quote.valid_until) == 0
    assert offers_expire(now=quote.valid_until + SECOND) == 1
    quote.refresh_from_db()
    quote.request.refresh_from_db()
    assert (quote.state, quote.request.status) == (QuoteState.EXPIRED, Status.EXPIRED)


def test_an_offer_holds_to_the_end_of_its_day_at_the_branch(company: None) -> None:
    quote = quoted()
    # 10 May 2027 plus 14 days, end of day in Denver (UTC-6 in summer): 05:59:59 UTC on the 25th.
    assert quote.valid_until == datetime(2027, 5, 25, 5, 59, 59, tzinfo=UTC)


def test_an_offer_never_outlives_the_start_of_the_hire(company: None) -> None:
    quote = quoted(hire={"start": "2027-05-13", "end": "2027-05-20"})
    assert quote.valid_until is not None
    assert quote.valid_until == datetime(2027, 5, 13, 5, 59, 59, tzinfo=UTC)


def test_an_offer_for_today_stays_open_some_hours(company: None) -> None:
    quote = quoted(hire={"start": "2027-05-10", "end": "2027-05-11"})
    assert quote.valid_until == NOW + timedelta(hours=4)


def test_an_accepted_offer_does_not_run_out(company: None) -> None:
    quote = quoted()
    assert quote.valid_until is not None
    signature = Signature(name="Ada Story")
    quote_accept(quote_id=quote.pk, terms_version=quote.terms_version, signature=signature, now=NOW)
    assert offers_expire(now=quote.valid_until + SECOND) == 0
    with pytest.raises(OfferClosed):
        quote_accept(
            quote_id=quote.pk, terms_version=quote.terms_version, signature=signature, now=NOW
        )


def test_a_customer_is_reminded_once(company: None) -> None:
    quote = quoted()
    assert quote.valid_until is not None
    assert offers_remind(now=NOW + timedelta(days=1)) == 0
    soon = quote.valid_until - timedelta(days=1)
    assert (offers_remind(now=soon), offers_remind(now=soon)) == (1, 0)
    assert OutboxMessage.objects.filter(topic="quotes.mail_reminder").count() == 1


def test_the_letter_has_total_dates_and_the_link(company: None) -> None:
    quote = quoted()
    letter = quote_letter(quote, kind="offer", message_id="1")
    assert letter is not None
    letter.send()
    sent = mail.outbox[-1]
    assert sent.to == ["ada@alder.example"]
    assert f"${quote.total:,.2f}" in sent.body
    assert "/r/" in sent.body


def test_the_order_letter_carries_the_document(company: None) -> None:
    quote = quoted()
    order = quote_accept(
        quote_id=quote.pk,
        terms_version=quote.terms_version,
        signature=Signature(name="Ada Story", purchase_order="PO 7"),
        now=NOW,
    )
    letter = order_letter(order, message_id="1")
    assert letter is not None
    ((name, content, kind),) = letter.attachments
    assert (name, kind) == (f"quote-{quote.number}.pdf", "application/pdf")
    assert bytes(content) == bytes(quote.document.content)
    assert "PO 7" in letter.body


def test_differences_name_what_changed(company: None) -> None:
    first = quoted()
    request = first.request
    type(request).objects.filter(pk=request.pk).update(status=Status.PRICING)
    chosen = {**first.choices, "cover": "certificate"}
    deliver(quote_asked(request), choices=chosen)
    second = Quote.objects.get(request=request, revision=2)
    found = {row.label: (row.before != "", row.after != "") for row in differences(first, second)}
    assert found["Damage waiver"] == (True, False)
    assert found["Total"] == (True, True)
    assert "Delivery" not in found
