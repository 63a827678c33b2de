"""The steps of a build, in order. Each may run again and leaves the same behind.

A step works outside any transaction, changes the quote in hand, and returns how to write it.

``fleet``     which branch sends which option
``price``     lines, taxes, steps and total, for this option and for those it can be changed to
``document``  the PDF
``offer``     the offer is made (in ``services.py``, with the message's mark, in one transaction)
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import partial
from typing import Any

from intake.prepared_rows import PreparedSave
from quotes.building.availability import Source, source_for
from quotes.building.errors import BuildReferred
from quotes.building.options import (
    Document,
    allowed,
    hire_dates,
    job_for,
    options_of,
    sets_wanted,
)
from quotes.building.write import sheet_write, valid_until
from quotes.documents.services import document_content, document_keep
from quotes.fleet.selectors import Catalogue, catalogue
from quotes.models import Branch, Quote
from quotes.pricing.errors import PricingError
from quotes.pricing.price import price
from quotes.pricing.sheet import Sheet
from quotes.pricing.terms import Terms
from quotes.rates.selectors import card_for, terms_for
from sizing.errors import SizingError
from sizing.places import place

DATES_QUESTION = "On which day should the hire start, and on which should it end?"
PLACE_QUESTION = "What is the ZIP code of the site?"
FLEET = PreparedSave(Quote, "branch_id", "starts_on", "ends_on", "content")
PRICE = PreparedSave(
    Quote, "card_id", "content", "net", "tax", "total", "deposit", "terms_version", "valid_until"
)
Write = Callable[[], object]
Step = Callable[[Quote, datetime], Write]


def step_fleet(quote: Quote, now: datetime) -> Write:
    """Settle dates, branch and option, and keep why."""
    options = _options(quote)
    requirement = _settled(quote.run.requirement)
    quote.starts_on, quote.ends_on = hire_dates(requirement)
    asked = int(quote.choices.get("option", 0))
    try:
        source = source_for(
            options=options,
            asked=asked if asked < len(options) else 0,
            zip_code=requirement["site"]["zip"],
            home=quote.request.branch_code,
            days=(quote.starts_on, quote.ends_on),
        )
    except (SizingError, PricingError) as error:
        raise BuildReferred(error.code, str(error)) from error
    quote.branch = source.branch
    quote.content = {**quote.content, "source": _source_document(source)}
    return partial(FLEET.save, quote)


def _settled(requirement: Document) -> Document:
    """The requirement, with the dates and the place that no price can do without."""
    if "hire" not in requirement:
        raise BuildReferred("dates_open", "The first and last day are not settled.", DATES_QUESTION)
    if not str(requirement.get("site", {}).get("zip", "")).isdecimal():
        raise BuildReferred("place_open", "The ZIP of the site is not settled.", PLACE_QUESTION)
    return requirement


def _options(quote: Quote) -> list[Document]:
    options = options_of(quote.run.result)
    if not options:
        raise BuildReferred("no_set_fits", "No set of the fleet carries this job.")
    return options


def _source_document(source: Source) -> dict[str, Any]:
    return {
        "option": source.option,
        "distance_km": str(source.distance_km),
        "priced_as": source.priced_as,
        "note": source.note,
    }


def step_price(quote: Quote, now: datetime) -> Write:
    """Price the option, and beside it those the customer may change to."""
    assert quote.branch is not None
    assert quote.starts_on is not None
    try:
        terms, hired_out = _terms(quote, quote.branch), catalogue(_codes(quote))
        sheets = _sheets(quote, terms, hired_out)
    except (SizingError, PricingError) as error:
        raise BuildReferred(error.code, str(error)) from error
    chosen = quote.content["source"]["option"]
    sheet = sheets[chosen]
    quote.net, quote.tax, quote.total = sheet.net, sheet.tax, sheet.total
    quote.deposit = sheet.deposit
    quote.valid_until = valid_until(quote, terms.valid_days, now)
    quote.content = {**quote.content, "options": _options_document(quote, sheets, hired_out)}
    return partial(_price_write, quote, sheet)


def _price_write(quote: Quote, sheet: Sheet) -> None:
    sheet_write(quote, sheet)
    PRICE.save(quote)


def _terms(quote: Quote, branch: Branch) -> Terms:
    """The terms in force at the branch on the first day, with the taxes of the site."""
    assert quote.starts_on is not None
    quote.card = card_for(branch=branch, on=quote.starts_on)
    quote.terms_version = quote.card.terms_version
    site = place(quote.run.requirement["site"]["zip"])
    return terms_for(
        card=quote.card,
        zip_code=site.zip,
        state=site.state,
        starts_on=quote.starts_on,
        organisation=quote.request.organisation,
    )


def _codes(quote: Quote) -> set[str]:
    """Types of set that the options name."""
    return {code for option in _options(quote) for code in sets_wanted(option)}


def _sheets(quote: Quote, terms: Terms, hired_out: Catalogue) -> dict[int, Sheet]:
    """A price for each option that may be chosen and that the card can price; the chosen must."""
    source = quote.content["source"]
    sheets: dict[int, Sheet] = {}
    for index, option in enumerate(_options(quote)):
        chosen = index == source["option"]
        if not chosen and not allowed(option):
            continue
        try:
            priced_as = source["priced_as"] if chosen else {}
            job = job_for(quote=quote, option=option, priced_as=priced_as, hired_out=hired_out)
            sheets[index] = price(job, terms)
        except PricingError:
            if chosen:
                raise
    return sheets


def _options_document(
    quote: Quote, sheets: dict[int, Sheet], hired_out: Catalogue
) -> list[dict[str, Any]]:
    """The options side by side, with what each would cost in all."""
    options, names = _options(quote), {code: one.name for code, one in hired_out.sets.items()}
    return [
        {
            "index": index,
            "kind": options[index].get("kind", ""),
            "why": options[index].get("why", ""),
            "sets": [
                {"code": code, "name": names[code], "quantity": count}
                for code, count in sets_wanted(options[index]).items()
            ],
            "total": str(sheet.total),
            "load_percent": options[index].get("load_percent"),
            "voltage_dip_percent": options[index].get("voltage_dip_percent"),
            "sound_dba": options[index].get("sound_dba"),
            "fuel_l_per_day": options[index].get("fuel_l_per_day"),
        }
        for index, sheet in sheets.items()
    ]


def step_document(quote: Quote, now: datetime) -> Write:
    """Make the PDF of the lines as they now stand."""
    content = document_content(quote=quote, now=now)
    return partial(document_keep, quote=quote, content=content, now=now)


STEPS: dict[str, Step] = {"fleet": step_fleet, "price": step_price, "document": step_document}
LAST_STEP = "offer"
