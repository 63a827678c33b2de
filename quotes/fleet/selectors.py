"""Reading the fleet: as the sizing method takes it, and by branch."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import lru_cache

from django.db.models import Count, Q, QuerySet, TextField
from django.db.models.functions import Cast

from intake.prepared import Prepared
from quotes.fleet.records import fleet_text
from quotes.models import AccessoryType, Branch, SetType, UnitState
from sizing.fleet import GeneratorSet, read_fleet
from sizing.places import distance_km

NAMES = Prepared(lambda: AccessoryType.objects.order_by().values_list("code", "name"))
BRANCHES = Prepared(Branch.objects.all)
Counted = tuple[str, int]  # a type's record as its JSON, and how many units there are of it


def _offered(*branch_code: str) -> QuerySet[SetType, Counted]:
    """The types that are offered, counted at a branch where one is named."""
    here = Q(units__state=UnitState.IN_SERVICE)
    if branch_code:
        here &= Q(units__branch__code=branch_code[0])
    types = SetType.objects.filter(offered=True).annotate(count=Count("units", filter=here))
    types = types.order_by("prime_kw", "code")  # the model's own is left out of counts
    return types.values_list(Cast("record", TextField()), "count")


EVERYWHERE = Prepared(_offered)
AT_BRANCH = Prepared(_offered, "a code")


@dataclass(frozen=True, slots=True)
class Catalogue:
    """What the owner hires out, read once for all options of a quote: by code."""

    sets: Mapping[str, GeneratorSet]
    accessory_names: Mapping[str, str]


def catalogue(codes: Collection[str] | None = None) -> Catalogue:
    """Sets, those of ``codes`` where it is given, and accessories, as they now stand."""
    return Catalogue(sets_by_code(codes), accessory_names())


def accessory_names() -> dict[str, str]:
    """Names of accessories by code."""
    return dict(NAMES.rows())


def fleet_for_sizing(
    branch_code: str = "", starts_on: date | None = None, ends_on: date | None = None
) -> tuple[GeneratorSet, ...]:
    """The types of set that a branch has, or any branch where none is named, smallest first.

    ``quantity`` is the number of units in service. Units on hire on these dates are not taken
    out: which set is right does not depend on who was first; what is free is settled when the
    quote is built, where a larger set, another branch or other dates can be offered.
    """
    types = AT_BRANCH.rows(branch_code) if branch_code else EVERYWHERE.rows()
    return _sets_read(tuple(types))


@lru_cache(maxsize=32)
def _sets_read(types: tuple[Counted, ...]) -> tuple[GeneratorSet, ...]:
    """Sets of records; reading 500 takes tens of milliseconds, so the last fleets are kept."""
    records = [{**json.loads(text), "quantity": str(count)} for text, count in types if count]
    return read_fleet(fleet_text(records)) if records else ()


def sets_by_code(codes: Collection[str] | None = None) -> dict[str, GeneratorSet]:
    """Types ever offered, or those of them named, by code, to look up mass and tank."""
    records = _records_of(None if codes is None else len(codes)).rows(*(codes or ()))
    return {one.code: one for one in (_set_read(tuple(row.items())) for (row,) in records)}


@lru_cache(maxsize=64)
def _records_of(count: int | None) -> Prepared[tuple[dict[str, str]]]:
    """The query for so many codes, or for all types there are."""

    def wanted(*codes: str) -> QuerySet[SetType, tuple[dict[str, str]]]:
        types = SetType.objects.order_by("prime_kw", "code")
        return (types if count is None else types.filter(code__in=codes)).values_list("record")

    return Prepared(wanted, *(f"a code, {number}" for number in range(count or 0)))


@lru_cache(maxsize=2048)
def _set_read(record: tuple[tuple[str, str], ...]) -> GeneratorSet:
    """The set of one record; keyed by all that it says, so that a change is another key."""
    (one,) = read_fleet(fleet_text([dict(record)]))
    return one


def branches_by_distance(zip_code: str) -> list[tuple[Branch, Decimal]]:
    """Branches with their straight distance to a ZIP in kilometres, the nearest first."""
    found = [
        (branch, Decimal(str(round(distance_km(branch.zip, zip_code), 1))))
        for branch in BRANCHES.rows()
    ]
    return sorted(found, key=lambda pair: (pair[1], pair[0].code))
