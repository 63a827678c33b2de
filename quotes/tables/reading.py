"""Reading a table: a dry run that lists every error and change; then all or nothing."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models, transaction

from intake.requests.errors import ServiceRefusal
from quotes.tables.table import Change, RowProblem, Table, as_typed

MOST_ROWS = 20_000


class TableRefused(ServiceRefusal):
    """The file has errors; nothing was changed."""

    code = "table_refused"
    status_code = 422

    def __init__(self, problems: list[RowProblem]) -> None:
        super().__init__("The file has errors; nothing was changed.", problems=problems)
        self.problems = problems


@dataclass(slots=True)
class Reading:
    """What a file would do."""

    problems: list[RowProblem] = field(default_factory=list)
    changes: list[Change] = field(default_factory=list)
    rows: list[models.Model] = field(default_factory=list)

    def count(self, kind: str) -> int:
        return sum(change.kind == kind for change in self.changes)


def table_read(table: Table, text: str) -> Reading:
    """A dry run: every problem with its line, every change, nothing written."""
    reading = Reading()
    rows = _rows(table, text, reading)
    links = {column: _by_code(model) for column, model in table.links.items()}
    existing = {_key_of(table, row): row for row in table.model._default_manager.all()}
    seen: set[str] = set()
    for line, cells in rows:
        _row_read(table, line, cells, links, existing, seen, reading)
    return reading


@transaction.atomic
def table_import(table: Table, text: str) -> Reading:
    """Read a file and write all of it, or refuse all of it."""
    reading = table_read(table, text)
    if reading.problems:
        raise TableRefused(reading.problems)
    for row in reading.rows:
        row.save()
    return reading


def _rows(table: Table, text: str, reading: Reading) -> list[tuple[int, dict[str, str]]]:
    parser = csv.DictReader(io.StringIO(text.removeprefix("\ufeff")), restkey="", strict=True)
    try:
        header, cells = list(parser.fieldnames or ()), list(parser)
    except csv.Error as error:
        reading.problems.append(RowProblem(1, "", f"This is not a CSV file: {error}."))
        return []
    _header_check(table, header, len(cells), reading)
    if reading.problems:
        return []
    return [(number + 2, row) for number, row in enumerate(cells)]


def _header_check(table: Table, header: list[str], count: int, reading: Reading) -> None:
    add = reading.problems.append
    for column in header:
        if column not in table.columns:
            add(RowProblem(1, column, f"Unknown column; known are {', '.join(table.columns)}."))
    for column in table.key:
        if column not in header:
            add(RowProblem(1, column, "This column is missing."))
    if len(header) != len(set(header)):
        add(RowProblem(1, "", "A column is there twice."))
    if count > MOST_ROWS:
        add(RowProblem(1, "", f"{count} rows are more than {MOST_ROWS}; split the file."))


def _by_code(model: type[models.Model]) -> dict[str, models.Model]:
    return {str(row.code): row for row in model._default_manager.all()}  # type: ignore[attr-defined]


def _key_of(table: Table, row: models.Model) -> str:
    return " / ".join(cell_text(table, row, column) for column in table.key)


def cell_text(table: Table, row: models.Model, column: str) -> str:
    """A row's value of a column as text, as it is written and compared."""
    value = getattr(row, column)
    if value is None:
        return ""
    return str(value.code) if column in table.links else str(value)


def _row_read(
    table: Table,
    line: int,
    cells: Mapping[str, Any],
    links: Mapping[str, Mapping[str, models.Model]],
    existing: Mapping[str, models.Model],
    seen: set[str],
    reading: Reading,
) -> None:
    found = len(reading.problems)
    if "" in cells:
        reading.problems.append(RowProblem(line, "", "More cells than the header has."))
    values = _values(table, line, cells, links, reading)
    if len(reading.problems) > found:
        return
    fresh = table.model(**{column: values[column] for column in table.key})
    try:
        fresh.clean_fields(exclude=[f.name for f in fresh._meta.fields if f.name not in table.key])
    except ValidationError as error:
        _problems_add(line, error, reading)
        return
    key = _key_of(table, fresh)
    row = existing.get(key, fresh)
    before = {column: cell_text(table, row, column) for column in values} if row.pk else {}
    for column, value in values.items():
        setattr(row, column, value)
    try:  # the key was looked up above, so no question to the database for each row
        row.clean_fields()
        row.clean()
    except ValidationError as error:
        _problems_add(line, error, reading)
        return
    if key in seen:
        reading.problems.append(RowProblem(line, table.key[0], f"{key} is there twice."))
        return
    seen.add(key)
    reading.rows.append(row)
    reading.changes.append(_change(table, line, key, row, before))


def _values(
    table: Table,
    line: int,
    cells: Mapping[str, Any],
    links: Mapping[str, Mapping[str, models.Model]],
    reading: Reading,
) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for column in table.columns:
        if column not in cells:
            continue
        text = as_typed(cells[column] or "")
        if column in links:
            values[column] = links[column].get(text)
            if values[column] is None:
                reading.problems.append(RowProblem(line, column, f"There is no '{text}'."))
            continue
        model_field = table.model._meta.get_field(column)
        if text or column in table.key:
            values[column] = text
        elif getattr(model_field, "null", False):
            values[column] = None
        elif model_field.has_default():  # type: ignore[union-attr]
            values[column] = model_field.get_default()  # type: ignore[union-attr]
        else:
            values[column] = ""
    return values


def _problems_add(line: int, error: ValidationError, reading: Reading) -> None:
    by_column = error.message_dict if hasattr(error, "error_dict") else {"": error.messages}
    for column, messages in by_column.items():
        named = "" if column == "__all__" else column
        reading.problems += [RowProblem(line, named, message) for message in messages]


def _change(table: Table, line: int, key: str, row: models.Model, before: dict[str, str]) -> Change:
    if not before:
        return Change(line, "added", key)
    after = {column: cell_text(table, row, column) for column in before}
    fields = {c: (before[c], after[c]) for c in before if before[c] != after[c]}
    return Change(line, "changed" if fields else "same", key, fields)
