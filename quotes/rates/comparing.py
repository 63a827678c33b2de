"""Price this again: the same jobs with two rate cards, side by side."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from quotes.building.options import job_for, options_of
from quotes.fleet.selectors import Catalogue, catalogue
from quotes.models import Quote, QuoteState, RateCard
from quotes.pricing.errors import PricingError
from quotes.pricing.money import ZERO
from quotes.pricing.price import price
from quotes.rates.selectors import terms_for
from sizing.places import place

QUOTES_COMPARED = 50
PRICED = (QuoteState.OFFERED, QuoteState.ACCEPTED, QuoteState.EXPIRED, QuoteState.DECLINED)


@dataclass(frozen=True, slots=True)
class Compared:
    """One quote with its total as shown and by each card; empty where a card cannot price it."""

    number: str
    shown: Decimal
    first: Decimal | None
    second: Decimal | None

    @property
    def difference(self) -> Decimal | None:
        if self.first is None or self.second is None:
            return None
        return self.second - self.first


@dataclass(frozen=True, slots=True)
class Comparison:
    """All quotes compared, and what they add up to where both cards price them."""

    rows: tuple[Compared, ...]
    first: Decimal
    second: Decimal

    @property
    def difference(self) -> Decimal:
        return self.second - self.first


def cards_compare(first: RateCard, second: RateCard) -> Comparison:
    """The last quotes priced with two cards; nothing that was shown to a customer changes."""
    quotes, hired_out = Quote.objects.filter(state__in=PRICED).order_by("-pk"), catalogue()
    rows = tuple(
        Compared(
            quote.number,
            quote.total,
            total_by(quote, first, hired_out),
            total_by(quote, second, hired_out),
        )
        for quote in quotes.select_related("request__organisation", "run")[:QUOTES_COMPARED]
    )
    both = [row for row in rows if row.first is not None and row.second is not None]
    return Comparison(
        rows,
        sum((row.first or ZERO for row in both), ZERO),
        sum((row.second or ZERO for row in both), ZERO),
    )


def total_by(quote: Quote, card: RateCard, hired_out: Catalogue) -> Decimal | None:
    """What a quote's job would cost by a card; ``None`` where the card cannot price it."""
    assert quote.starts_on is not None
    site, source = place(quote.run.requirement["site"]["zip"]), quote.content["source"]
    job = job_for(
        quote=quote,
        option=options_of(quote.run.result)[source["option"]],
        priced_as=source["priced_as"],
        hired_out=hired_out,
    )
    terms = terms_for(
        card=card,
        zip_code=site.zip,
        state=site.state,
        starts_on=quote.starts_on,
        organisation=quote.request.organisation,
    )
    try:
        return price(job, terms).total
    except PricingError:
        return None
