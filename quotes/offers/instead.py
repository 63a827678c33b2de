"""What else there is when the set of an offer was taken a moment ago."""

from __future__ import annotations

from dataclasses import dataclass

from quotes.bookings.selectors import all_free, next_free_start
from quotes.building.options import Document, allowed, options_of, sets_wanted
from quotes.documents.retold import retold
from quotes.fleet.selectors import branches_by_distance, sets_by_code
from quotes.models import Branch, Quote


@dataclass(frozen=True, slots=True)
class Instead:
    """One thing the customer could have instead: another set or branch now, or the same later."""

    kind: str  # "other", "branch" or "later"
    words: str


def instead_of(quote: Quote) -> list[Instead]:
    """Options of the sizing run that are free on these days, then the asked one on other days."""
    assert quote.starts_on is not None
    assert quote.ends_on is not None
    site_zip = quote.run.requirement["site"]["zip"]
    branches = [branch for branch, _distance in branches_by_distance(site_zip)]
    options = [option for option in options_of(quote.run.result) if allowed(option)]
    asked = options_of(quote.run.result)[quote.content["source"]["option"]]
    now = [found for option in options if (found := _free_now(option, asked, branches, quote))]
    return [*now, *_later(asked, branches, quote)]


def _free_now(
    option: Document, asked: Document, branches: list[Branch], quote: Quote
) -> Instead | None:
    days = {"starts_on": quote.starts_on, "ends_on": quote.ends_on}
    for branch in branches:
        if all_free(sets=sets_wanted(option), branch=branch, **days):  # type: ignore[arg-type]
            kind = "branch" if option is asked else "other"
            words = f"{_named(option)} from {branch.name}, on the same days"
            return Instead(kind, retold(words))
    return None


def _later(asked: Document, branches: list[Branch], quote: Quote) -> list[Instead]:
    assert quote.starts_on is not None
    assert quote.ends_on is not None
    found = [
        start
        for branch in branches
        if (
            start := next_free_start(
                sets=sets_wanted(asked),
                branch=branch,
                starts_on=quote.starts_on,
                ends_on=quote.ends_on,
            )
        )
    ]
    if not found:
        return []
    first = min(found)
    return [Instead("later", retold(f"{_named(asked)} from {first:%a} {first.day} {first:%b %Y}"))]


def _named(option: Document) -> str:
    records = sets_by_code()
    return " + ".join(
        f"{count} x {records[code].name}" if count > 1 else records[code].name
        for code, count in sets_wanted(option).items()
    )
