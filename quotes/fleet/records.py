"""Types of set as rows of the fleet file: the one form both the database and the method know."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping


def fleet_text(records: Iterable[Mapping[str, str]]) -> str:
    """Rows as the text of a fleet file, columns in the order of the first row."""
    rows = list(records)
    columns = list(dict.fromkeys(column for row in rows for column in row))
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, restval="")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def fleet_rows(text: str) -> list[dict[str, str]]:
    """Rows of a fleet file, column name to text."""
    return [
        {column: value or "" for column, value in row.items() if column}
        for row in csv.DictReader(io.StringIO(text.removeprefix("\ufeff")))
    ]
