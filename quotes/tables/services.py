"""Bringing in a table for good."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from intake.events.services import event_record
from quotes.tables.reading import Reading, table_import
from quotes.tables.table import Change, Table

CHANGES_KEPT = 500


@transaction.atomic
def table_bring_in(*, table: Table, text: str, actor: User, now: datetime) -> Reading:
    """Write a file's rows, all or none, and keep in the record what changed."""
    reading = table_import(table, text)
    changed = [change for change in reading.changes if change.kind != "same"]
    event_record(
        kind="owner_table_changed",
        now=now,
        actor=actor,
        subject=table.name,
        added=reading.count("added"),
        changed=reading.count("changed"),
        rows=[change_words(change) for change in changed[:CHANGES_KEPT]],
    )
    return reading


def change_words(change: Change) -> str:
    """One change as the record keeps it."""
    fields = "; ".join(f"{name} {old} -> {new}" for name, (old, new) in change.fields.items())
    return f"{change.key}: {fields or change.kind}"
