"""Reading quotes for the desk."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib.auth.models import User
from django.db.models import Q, QuerySet
from django.http import Http404

from intake.desk.access import branches_of
from quotes.models import Quote, QuoteState
from quotes.offers.selectors import WITH_ALL

PAGE = 50


@dataclass(frozen=True, slots=True)
class QuotePage:
    """One page of the list, the newest first; ``after`` continues it, 0 at the end."""

    rows: list[Quote]
    after: int


def quotes_of(user: User) -> QuerySet[Quote]:
    """The quotes a person may see: those of the own branches, and those of no branch yet."""
    branches = branches_of(user)
    if branches is None:
        return Quote.objects.all()
    return Quote.objects.filter(Q(branch__code__in=branches) | Q(branch=None))


def quotes_page(*, user: User, state: str = "", reference: str = "", after: int = 0) -> QuotePage:
    """A page by key, so that the last of a million costs what the first does."""
    found = quotes_of(user).select_related("request", "branch").order_by("-pk")
    if state in QuoteState.values:
        found = found.filter(state=state)
    if reference:
        found = found.filter(request__reference=reference.strip().upper())
    if after:
        found = found.filter(pk__lt=after)
    rows = list(found[: PAGE + 1])
    more = len(rows) > PAGE
    return QuotePage(rows[:PAGE], rows[PAGE - 1].pk if more else 0)


def quote_of(user: User, reference: str, revision: int | None = None) -> Quote:
    """One revision of a request's quote, the newest where none is named."""
    found = quotes_of(user).filter(request__reference=reference).select_related(*WITH_ALL)
    if revision is not None:
        found = found.filter(revision=revision)
    quote = found.prefetch_related("lines", "taxes", "steps", "request__answers").last()
    if quote is None:
        raise Http404("no such quote")
    return quote
