"""The one table of allowed moves of a quote, and the one function that makes them."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from intake.prepared import A_KEY, A_MOMENT, PreparedUpdate
from intake.requests.errors import MoveRefused
from quotes.models import Quote, QuoteState

MOVES: dict[str, frozenset[str]] = {
    QuoteState.BUILDING: frozenset(
        {QuoteState.OFFERED, QuoteState.REFERRED, QuoteState.SUPERSEDED}
    ),
    QuoteState.OFFERED: frozenset(
        {
            QuoteState.ACCEPTED,
            QuoteState.DECLINED,
            QuoteState.SUPERSEDED,
            QuoteState.EXPIRED,
            QuoteState.REFERRED,
        }
    ),
    QuoteState.ACCEPTED: frozenset(),
    QuoteState.DECLINED: frozenset(),
    QuoteState.SUPERSEDED: frozenset(),
    QuoteState.EXPIRED: frozenset(),
    QuoteState.REFERRED: frozenset(),
}

OPENED = PreparedUpdate(
    lambda quote_id, now: (
        Quote.objects.filter(pk=quote_id, state=QuoteState.BUILDING),
        {"state": QuoteState.OFFERED, "offered_at": now},
    ),
    A_KEY,
    A_MOMENT,
)


def quote_move(*, quote_id: int, origin: str, target: str, **fields: Any) -> None:
    """Move one quote from ``origin`` to ``target``; must hit exactly one row or nothing happens."""
    if target not in MOVES[QuoteState(origin)]:
        raise MoveRefused(origin=origin, target=target)
    moved = Quote.objects.filter(pk=quote_id, state=origin).update(state=target, **fields)
    if moved != 1:
        raise MoveRefused(origin=origin, target=target)


def offer_open(*, quote_id: int, now: datetime) -> None:
    """The move of every build that goes well: from building to offered."""
    if OPENED.update(quote_id, now) != 1:
        raise MoveRefused(origin=QuoteState.BUILDING, target=QuoteState.OFFERED)
