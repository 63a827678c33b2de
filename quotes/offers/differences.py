"""What differs between two revisions, line by line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from quotes.documents.retold import day_words, retold
from quotes.documents.rows import lines_of, taxes_of
from quotes.models import Quote
from quotes.pricing.money import dollars


@dataclass(frozen=True, slots=True)
class Difference:
    """One item whose amount differs; empty where a revision does not have it."""

    label: str
    before: str
    after: str
    total: bool = False


def differences(before: Quote, after: Quote) -> list[Difference]:
    """Items that came, went or changed, then the dates and the total where they changed."""
    old, new = _amounts(before), _amounts(after)
    found = [
        Difference(retold(label), _written(old.get(label)), _written(new.get(label)))
        for label in dict.fromkeys([*old, *new])
        if old.get(label) != new.get(label)
    ]
    return [*_dates(before, after), *found, *_total(before, after)]


def _amounts(quote: Quote) -> dict[str, Decimal]:
    amounts: dict[str, Decimal] = {}
    for label, amount in _rows(quote):
        amounts[label] = amounts.get(label, Decimal(0)) + amount
    return amounts


def _rows(quote: Quote) -> Iterable[tuple[str, Decimal]]:
    yield from ((line.label, line.amount) for line in lines_of(quote))
    yield from ((tax.name, tax.amount) for tax in taxes_of(quote))


def _written(amount: Decimal | None) -> str:
    return "" if amount is None else dollars(amount)


def _dates(before: Quote, after: Quote) -> list[Difference]:
    if (before.starts_on, before.ends_on) == (after.starts_on, after.ends_on):
        return []
    return [Difference(_("Dates"), _days(before), _days(after))]


def _days(quote: Quote) -> str:
    if quote.starts_on is None or quote.ends_on is None:
        return ""
    start, end = day_words(quote.starts_on), day_words(quote.ends_on)
    return _("{start} to {end}").format(start=start, end=end)


def _total(before: Quote, after: Quote) -> list[Difference]:
    if before.total == after.total:
        return []
    return [Difference(_("Total"), dollars(before.total), dollars(after.total), total=True)]
