"""Figures of quotes and fleet, shown beside those of the desk: won, lost and why, on hire."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal

from django.db.models import Count, Q, QuerySet, Sum

from quotes.models import Booking, CustomerWord, Quote, QuoteState, Unit, UnitState

Figure = tuple[str, str, Sequence[str], Sequence[Sequence[str]]]
Branches = Sequence[str] | None
OUTCOMES = (QuoteState.ACCEPTED, QuoteState.DECLINED, QuoteState.EXPIRED, QuoteState.OFFERED)
MOST_WORDS = 20


def quote_figures(*, since: datetime, now: datetime, branch_codes: Branches) -> Iterator[Figure]:
    """Each figure as code, title, columns and rows; ``branch_codes`` of ``None`` means all."""
    offered = _of_branches(Quote.objects.filter(offered_at__gte=since), branch_codes, "branch")
    yield "quotes", "Quotes won and lost", ("quotes", "number", "total"), _won_and_lost(offered)
    yield "lost", "Why quotes were lost", ("the customer's words", "quote"), _lost(offered)
    units = _of_branches(Unit.objects.all(), branch_codes, "branch")
    columns = ("set", "in service", "on hire today", "share")
    yield "fleet", "Fleet on hire", columns, _on_hire(units, now.date())


def _of_branches(rows: QuerySet, codes: Branches, name: str) -> QuerySet:  # type: ignore[type-arg]
    return rows if codes is None else rows.filter(**{f"{name}__code__in": codes})


def _won_and_lost(offered: QuerySet[Quote]) -> list[tuple[str, str, str]]:
    found = {
        row["state"]: row
        for row in offered.values("state").annotate(n=Count("id"), sum=Sum("total"))
    }
    return [
        (str(state.label), f"{found[state]['n']}", f"{found[state]['sum'] or Decimal(0):,.2f}")
        for state in OUTCOMES
        if state in found
    ]


def _lost(offered: QuerySet[Quote]) -> list[tuple[str, str]]:
    words = CustomerWord.objects.filter(quote__in=offered, quote__state=QuoteState.DECLINED)
    latest = words.select_related("quote__request").order_by("-said_at")[:MOST_WORDS]
    return [(word.words or "nothing said", word.quote.request.reference) for word in latest]


def _on_hire(units: QuerySet[Unit], today: date) -> list[tuple[str, str, str, str]]:
    out = Booking.objects.filter(cancelled_at=None, starts_on__lte=today, ends_on__gte=today)
    rows = (
        units.filter(state=UnitState.IN_SERVICE)
        .values_list("set_type__name")
        .annotate(n=Count("id"), hired=Count("id", filter=Q(pk__in=out.values("unit"))))
        .order_by("set_type__prime_kw", "set_type__name")
    )
    return [(name, f"{n}", f"{hired}", f"{100 * hired / n:.0f} %") for name, n, hired in rows]
