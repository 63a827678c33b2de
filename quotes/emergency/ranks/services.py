"""Putting the stated default where the owner can change it."""

from __future__ import annotations

from typing import Any

from django.db import connection, transaction

from quotes.emergency.ranks.defaults import default_kinds
from quotes.models import FacilityKind


@transaction.atomic
def kinds_ensure(**_: Any) -> None:
    """Add each default kind that is not there; what the owner changed stays as it is."""
    if FacilityKind._meta.db_table not in connection.introspection.table_names():
        return  # migrated back to before there was an emergency part
    there = set(FacilityKind.objects.filter(jurisdiction="").values_list("code", flat=True))
    for kind in default_kinds():
        if kind.code not in there:
            FacilityKind.objects.create(
                code=kind.code, name=kind.name, name_es=kind.name_es, rank=kind.rank,
                why=kind.why, source=kind.source,
            )  # fmt: skip
