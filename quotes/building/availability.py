"""Which branch sends the sets; and what can be offered when nothing is free."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from quotes.bookings.selectors import all_free, next_free_start
from quotes.building.errors import BuildReferred
from quotes.building.options import Document, allowed, sets_wanted
from quotes.fleet.selectors import branches_by_distance, sets_by_code
from quotes.models import Branch
from quotes.rates.selectors import card_for
from sizing.fleet import GeneratorSet


@dataclass(frozen=True, slots=True)
class Source:
    """Where an option comes from. ``option`` differs from the one asked for where that is taken."""

    branch: Branch
    distance_km: Decimal
    option: int
    priced_as: dict[str, str] = field(default_factory=dict)
    note: str = ""


def source_for(
    *, options: list[Document], asked: int, zip_code: str, home: str, days: tuple[date, date]
) -> Source:
    """The branch and option to offer.

    1. The option asked for, from the request's own branch, else from the nearest with it free.
    2. A larger set at the asked one's price, where the owner's rule allows it.
    3. Else a person, with the next free dates as a start.
    """
    branches = _own_first(branches_by_distance(zip_code), home)
    found = _free_somewhere(options[asked], asked, branches, days)
    found = found or _larger_at_asked_price(options, asked, branches, days)
    if found is None:
        raise _nothing_free(options[asked], branches, days)
    return found


def _own_first(branches: list[tuple[Branch, Decimal]], home: str) -> list[tuple[Branch, Decimal]]:
    return sorted(branches, key=lambda pair: pair[0].code != home) if home else branches


def _free_somewhere(
    option: Document, index: int, branches: list[tuple[Branch, Decimal]], days: tuple[date, date]
) -> Source | None:
    for rank, (branch, distance_km) in enumerate(branches):
        if all_free(sets=sets_wanted(option), branch=branch, starts_on=days[0], ends_on=days[1]):
            note = f"Comes from {branch.name}, the nearest yard with this set free." if rank else ""
            return Source(branch, distance_km, index, note=note)
    return None


def _larger_at_asked_price(
    options: list[Document],
    asked: int,
    branches: list[tuple[Branch, Decimal]],
    days: tuple[date, date],
) -> Source | None:
    wanted = sets_wanted(options[asked])
    if len(wanted) != 1:
        return None
    ((code, count),), sets = wanted.items(), sets_by_code()
    for index, option in enumerate(options):
        if index != asked and _is_larger(option, count, sets, than=sets[code]) and allowed(option):
            found = _free_somewhere(option, index, branches, days)
            if found and card_for(branch=found.branch, on=days[0]).larger_at_asked_price:
                return _at_price_of(found, option, code)
    return None


def _is_larger(
    option: Document, count: int, sets: Mapping[str, GeneratorSet], *, than: GeneratorSet
) -> bool:
    """One type, as many units, more power."""
    wanted = sets_wanted(option)
    if len(wanted) != 1 or list(wanted.values()) != [count]:
        return False
    (other,) = wanted
    return sets[other].prime_kw > than.prime_kw


def _at_price_of(found: Source, option: Document, code: str) -> Source:
    (larger,) = sets_wanted(option)
    note = f"{code} is taken on these days: {larger}, which is larger, at the price of {code}."
    return Source(found.branch, found.distance_km, found.option, {larger: code}, note)


def _nothing_free(
    option: Document, branches: list[tuple[Branch, Decimal]], days: tuple[date, date]
) -> BuildReferred:
    wanted = sets_wanted(option)
    later: dict[str, Any] = {}
    for branch, _distance in branches:
        start = next_free_start(sets=wanted, branch=branch, starts_on=days[0], ends_on=days[1])
        if start is not None:
            later[branch.code] = start.isoformat()
    named = ", ".join(f"{count} x {code}" for code, count in wanted.items())
    return BuildReferred(
        "nothing_free",
        f"{named}: not free from {days[0]:%d %b %Y} to {days[1]:%d %b %Y} at any branch.",
        "Could the hire start on another day?",
        next_free_start=later,
    )
