"""Writing a table as CSV that reads back as it was."""

from __future__ import annotations

import csv
import io

from django.db.models import QuerySet

from quotes.tables.reading import cell_text
from quotes.tables.table import Table, harmless


def table_text(table: Table, rows: QuerySet | None = None) -> str:  # type: ignore[type-arg]
    """All rows, or those given, as CSV; no cell that a spreadsheet would run as a formula."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(table.columns)
    chosen = table.model._default_manager.all() if rows is None else rows
    for row in chosen.select_related(*table.links):
        writer.writerow([harmless(cell_text(table, row, column)) for column in table.columns])
    return out.getvalue()
