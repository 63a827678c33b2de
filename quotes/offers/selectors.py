"""What the customer's page of a quote needs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet
from django.utils.functional import SimpleLazyObject
from django.utils.translation import gettext as _

from intake.models import HireRequest, SizingRun
from intake.prepared import A_KEY, Prepared
from quotes.building.steps import LAST_STEP, STEPS
from quotes.documents.facts import customer_facts, page_facts
from quotes.models import Branch, Quote, QuoteState, RateCard
from quotes.offers.differences import differences
from quotes.offers.parts import Parts

SHOWN = (QuoteState.OFFERED, QuoteState.ACCEPTED, QuoteState.DECLINED, QuoteState.EXPIRED)
READABLE = (*SHOWN, QuoteState.SUPERSEDED)
ANOTHER_KEY, A_REVISION = A_KEY - 1, 1_000_000
CURRENT = Prepared(
    lambda request: Quote.objects.filter(request=request, state__in=SHOWN).order_by("-revision")[
        :1
    ],
    A_KEY,
)
RUNS = Prepared(lambda pk: SizingRun.objects.filter(pk=pk), A_KEY)
BRANCHES = Prepared(lambda pk: Branch.objects.filter(pk=pk), A_KEY)
CARDS = Prepared(lambda pk: RateCard.objects.filter(pk=pk), A_KEY)
OTHERS = Prepared(
    lambda request, pk: (
        Quote.objects.filter(request=request, state__in=READABLE)
        .exclude(pk=pk)
        .order_by("-revision")
    ),
    A_KEY,
    ANOTHER_KEY,
)
BEFORE = Prepared(
    lambda request, revision: Quote.objects.filter(
        request=request, state__in=READABLE, revision__lt=revision
    ).order_by("-revision")[:1],
    A_KEY,
    A_REVISION,
)
WITH_ALL = ("request__organisation", "run", "branch", "card")


@dataclass(frozen=True, slots=True)
class Progress:
    """One step of the build as the customer sees it."""

    label: str
    done: bool
    running: bool


def quote_current(request: HireRequest) -> Quote | None:
    """The newest revision that was ever offered and not replaced, with its sizing run."""
    quote = quote_shown(request)
    if quote is not None:
        quote.run = RUNS.rows(quote.run_id)[0]
    return quote


def quote_shown(request: HireRequest) -> Quote | None:
    """The same for the customer's pages, which show little of the run."""
    quote = CURRENT.first(request.pk)
    if quote is not None:
        quote.request = request
        quote.branch = BRANCHES.first(quote.branch_id) if quote.branch_id else None
        quote.card = CARDS.first(quote.card_id) if quote.card_id else None
    return quote


def quote_revision(request: HireRequest, revision: int) -> Quote | None:
    """One revision that was offered, readable for good."""
    quotes = Quote.objects.filter(request=request, state__in=READABLE, revision=revision)
    return quotes.select_related(*WITH_ALL).first()


def revisions_of(request: HireRequest) -> QuerySet[Quote]:
    """All revisions that were offered, the newest first."""
    return Quote.objects.filter(request=request, state__in=READABLE).order_by("-revision")


def progress_of(request: HireRequest) -> list[Progress]:
    """The steps of the newest build; all waiting while no worker has begun."""
    names = {
        "fleet": _("Finding the set and the nearest yard"),
        "price": _("Pricing every line"),
        "document": _("Writing the document"),
        LAST_STEP: _("Ready"),
    }
    quote = Quote.objects.filter(request=request).order_by("-revision").first()
    building = quote is not None and quote.state == QuoteState.BUILDING
    rows = list(quote.build_steps.all()) if quote and building else []
    done = {row.name for row in rows if row.finished_at}
    running = next((row.name for row in rows if not row.finished_at), "")
    return [
        Progress(names[name], done=name in done, running=name == running)
        for name in (*STEPS, LAST_STEP)
    ]


def quote_before(quote: Quote) -> Quote | None:
    """The revision offered before this one."""
    before = BEFORE.first(quote.request_id, quote.revision)
    if before is not None:
        before.request = quote.request  # whose reference is in its number
    return before


def offer_context(quote: Quote) -> dict[str, Any]:
    """Everything the page of one revision shows."""
    before = quote_before(quote) if quote.revision > 1 else None
    facts = page_facts(quote)
    # asked for on the desk's page alone
    facts["customer"] = SimpleLazyObject(lambda: customer_facts(quote))
    return {
        "quote": quote,
        "facts": facts,
        "parts": Parts(facts),
        "revisions": _others(quote),
        "compared": before,
        "differences": differences(before, quote) if before else [],
    }


def _others(quote: Quote) -> list[Quote]:
    """The other revisions that may be read, the newest first."""
    rows = OTHERS.rows(quote.request_id, quote.pk)
    for row in rows:
        row.request = quote.request  # whose reference is in its number
    return rows
