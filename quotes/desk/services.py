"""A rep changes the price of an open quote, within the card's limit."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction

from intake.events.services import event_record
from quotes.acceptance.services import quote_again
from quotes.desk.errors import AdjustmentTooLarge, QuoteNotOpen
from quotes.models import Quote, QuoteState
from quotes.pricing.money import cents, dollars, total
from quotes.pricing.price import adjustment_allowed

BEYOND_LIMIT = "intake.override_check"  # managers


@transaction.atomic
def quote_adjust(
    *, quote_id: int, amount: Decimal, reason: str, actor: User, now: datetime
) -> None:
    """Ask for a revision with an adjustment line; the customer reads the reason.

    1. Only an open quote. 2. Within the card's share of the lines, unless a manager does it.
    3. The record keeps who and why; the worker builds the revision.
    """
    quote = Quote.objects.select_related("request", "card", "run").get(pk=quote_id)
    if quote.state != QuoteState.OFFERED:
        raise QuoteNotOpen
    if not actor.has_perm(BEYOND_LIMIT):
        _refuse_too_large(quote, amount)
    event_record(
        kind="quote_adjusted",
        now=now,
        actor=actor,
        request=quote.request,
        subject=quote.number,
        amount=str(cents(amount)),
        reason=reason,
    )
    adjustment = {"amount": str(cents(amount)), "reason": reason}
    quote_again(
        request=quote.request,
        run_number=quote.run.number,
        choices={**quote.choices, "adjustment": adjustment if amount else None},
        reason=reason,
        actor=actor,
        now=now,
    )


def _refuse_too_large(quote: Quote, amount: Decimal) -> None:
    """The limit is a share of the lines without an earlier adjustment."""
    assert quote.card is not None
    lines = total(line.amount for line in quote.lines.exclude(kind="adjustment"))
    limit = quote.card.adjustment_limit_percent
    if not adjustment_allowed(amount, lines, limit):
        most = dollars(lines * limit / 100)
        raise AdjustmentTooLarge(f"At most {most} USD either way; beyond that a manager decides.")
