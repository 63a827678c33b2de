"""Reading the fleet: as the sizing method takes it, and by branch."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import lru_cache

from django.db.models import Count, Q, QuerySet

from intake.prepared import Prepared
from quotes.fleet.records import fleet_text
from quotes.models import AccessoryType, Branch, SetType, UnitState
from sizing.fleet import GeneratorSet, read_fleet
from sizing.places import distance_km

NAMES = Prepared(lambda: AccessoryType.objects.order_by().values_list("code", "name"))
BRANCHES = Prepared(Branch.objects.all)


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
    return _sets_read(tuple(_records(branch_code)))


def _records(branch_code: str) -> list[tuple[tuple[str, str], ...]]:
    here = Q(units__state=UnitState.IN_SERVICE)
    if branch_code:
        here &= Q(units__branch__code=branch_code)
    types = SetType.objects.filter(offered=True).annotate(count=Count("units", filter=here))
    return [
        tuple({**set_type.record, "quantity": str(set_type.count)}.items())
        for set_type in types
        if set_type.count
    ]


@lru_cache(maxsize=32)
def _sets_read(records: tuple[tuple[tuple[str, str], ...], ...]) -> tuple[GeneratorSet, ...]:
    """Sets of records; reading 500 takes tens of milliseconds, so the last fleets are kept."""
    if not records:
        return ()
    return read_fleet(fleet_text(dict(record) for record in records))


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
