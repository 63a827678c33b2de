"""Bringing in a fleet file."""

from __future__ import annotations

from decimal import Decimal

from django.db import transaction

from quotes.fleet.records import fleet_rows
from quotes.models import SetType
from sizing.fleet import read_fleet


@transaction.atomic
def fleet_import(*, text: str) -> int:
    """Read a fleet file, all problems at once; add or change a type of set for each row."""
    sets = {one.code: one for one in read_fleet(text)}
    for row in fleet_rows(text):
        one = sets[row["code"].strip()]
        SetType.objects.update_or_create(
            code=one.code,
            defaults={"name": one.name, "prime_kw": Decimal(str(one.prime_kw)), "record": row},
        )
    return len(sets)
