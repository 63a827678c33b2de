"""What time does to offers: they run out, and before that the customer is reminded once."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction

from intake.events.services import event_record
from intake.models import Status
from intake.outbox.services import outbox_put
from intake.requests.errors import MoveRefused
from intake.requests.status import request_move
from quotes.building.moves import quote_move
from quotes.models import Quote, QuoteState

BATCH = 200
REMIND_BEFORE = timedelta(days=2)
REMIND_NOT_BEFORE_AGE = timedelta(days=2)


def offers_expire(*, now: datetime) -> int:
    """Close the offers whose last moment is over, each in a transaction of its own."""
    over = Quote.objects.filter(state=QuoteState.OFFERED, valid_until__lt=now)
    found = list(over.select_related("request").order_by("valid_until")[:BATCH])
    return sum(offer_expire(quote=quote, now=now) for quote in found)


def offer_expire(*, quote: Quote, now: datetime) -> bool:
    """Close one offer; not if it was accepted or replaced in the meantime.

    A request that is being priced anew keeps its place: only the old offer ends.
    """
    try:
        with transaction.atomic():
            quote_move(quote_id=quote.pk, origin=QuoteState.OFFERED, target=QuoteState.EXPIRED)
            if quote.request.status == Status.QUOTED:
                request_move(
                    request_id=quote.request_id, origin=Status.QUOTED, target=Status.EXPIRED
                )
            event_record(
                kind="quote_expired",
                now=now,
                actor="system",
                request=quote.request,
                subject=quote.number,
            )
    except MoveRefused:
        return False
    return True


def offers_remind(*, now: datetime) -> int:
    """Remind once of each offer that runs out soon and was made some days ago."""
    soon = Quote.objects.filter(
        state=QuoteState.OFFERED,
        reminded_at=None,
        valid_until__gt=now,
        valid_until__lte=now + REMIND_BEFORE,
        offered_at__lte=now - REMIND_NOT_BEFORE_AGE,
    )
    found = list(soon.select_related("request").order_by("valid_until")[:BATCH])
    return sum(offer_remind(quote=quote, now=now) for quote in found)


@transaction.atomic
def offer_remind(*, quote: Quote, now: datetime) -> bool:
    """Put one reminder in the outbox, unless another sweep just did."""
    open_ = Quote.objects.filter(pk=quote.pk, state=QuoteState.OFFERED, reminded_at=None)
    if not open_.update(reminded_at=now):
        return False
    event_record(
        kind="quote_reminded",
        now=now,
        actor="system",
        request=quote.request,
        subject=quote.number,
    )
    outbox_put(topic="quotes.mail_reminder", payload={"quote_id": quote.pk}, queue="mail", now=now)
    return True
