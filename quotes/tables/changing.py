"""Changing one row of an owner's table, with its line in the record."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import models, transaction

from intake.events.services import event_record


@transaction.atomic
def row_change(
    *, row: models.Model, changes: dict[str, Any], actor: User, now: datetime
) -> models.Model:
    """Write fields of a row after all checks of its model; the record keeps before and after."""
    told = []
    for name, value in changes.items():
        before = getattr(row, name)
        if before != value:
            told.append(f"{name} {before} -> {value}")
        setattr(row, name, value)
    row.full_clean()
    row.save()
    if told:
        row_told(row, "; ".join(told), actor, now)
    return row


@transaction.atomic
def row_add(*, row: models.Model, actor: User, now: datetime) -> models.Model:
    """Add a row after all checks of its model."""
    row.full_clean()
    row.save(force_insert=True)
    row_told(row, "added", actor, now)
    return row


def row_told(row: models.Model, changes: str, actor: User, now: datetime) -> None:
    """Keep in the record what was done to a row."""
    event_record(
        kind="owner_record_changed", now=now, actor=actor, subject=str(row)[:120],
        changes=changes[:2000],
    )  # fmt: skip
