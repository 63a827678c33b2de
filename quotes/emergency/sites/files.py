"""A table of sites as it comes: CSV or a workbook, and the templates that go out."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import Any

from django.utils.translation import gettext as _
from openpyxl import Workbook, load_workbook

from intake.requests.errors import ServiceRefusal

MOST_BYTES = 2_000_000
MOST_UNPACKED = 30_000_000
MOST_ROWS = 2_000
MOST_COLUMNS = 80
LONGEST_CELL = 2_000
ZIP_MARK = b"PK\x03\x04"
EXPLAINING = ("columns", "kinds")  # sheets of the template that only explain
Cells = dict[str, str]


class FileRefused(ServiceRefusal):
    """The file cannot be read as a table at all."""

    code = "file_refused"
    status_code = 422


def file_tables(data: bytes) -> list[list[tuple[int, Cells]]]:
    """The tables of a file: the CSV, or each sheet of a workbook that has rows to bring in.

    Each row has its line and its cells as typed; rows that are empty throughout are left out.
    """
    if len(data) > MOST_BYTES:
        raise FileRefused(
            _("The file is larger than {most} MB. Split it.").format(most=MOST_BYTES // 1_000_000)
        )
    grids = _workbook_grids(data) if data.startswith(ZIP_MARK) else [list(_csv_grid(data))]
    tables = [rows for grid in grids if (rows := _grid_rows(grid))]
    if not tables:
        raise FileRefused(_("The file is empty. Fill in the template and send it."))
    return tables


def _grid_rows(grid: list[list[str]]) -> list[tuple[int, Cells]]:
    """Columns are known by the first row, whatever their order and case."""
    lines = [(number, row) for number, row in enumerate(grid, start=1) if any(row)]
    if len(lines) < 2:
        return []
    header = [cell.strip().lower() for cell in lines[0][1]]
    _header_check(header)
    if len(lines) - 1 > MOST_ROWS:
        raise FileRefused(
            _("{count} rows are more than {most}. Split the file.").format(
                count=len(lines) - 1, most=MOST_ROWS
            )
        )
    return [(number, _row_cells(header, row)) for number, row in lines[1:]]


def _row_cells(header: Sequence[str], row: Sequence[str]) -> Cells:
    if any(row[len(header) :]) or any(c for n, c in zip(header, row, strict=False) if not n):
        raise FileRefused(_("A row has more cells than the first row has names. Use the template."))
    return {name: cell for name, cell in zip(header, row, strict=False) if name}


def _header_check(header: Sequence[str]) -> None:
    named = [name for name in header if name]
    if len(named) != len(set(named)):
        raise FileRefused(_("A column is there twice. Remove one of the two."))
    if len(header) > MOST_COLUMNS:
        raise FileRefused(_("There are too many columns. Use the template."))


def _csv_grid(data: bytes) -> Iterator[list[str]]:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace")
    if "\x00" in text:
        raise FileRefused(_("This is neither a CSV file nor an XLSX workbook."))
    first = text.split("\n", 1)[0]
    mark = ";" if first.count(";") > first.count(",") else ","
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True):
            yield [cell.strip()[:LONGEST_CELL] for cell in row]
    except csv.Error as error:
        raise FileRefused(_("This is neither a CSV file nor an XLSX workbook.")) from error


def _workbook_grids(data: bytes) -> list[list[list[str]]]:
    """Cells of the sheets, read one by one; formulas give the value they last had."""
    try:
        _unpacked_check(data)
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        return [_sheet_grid(one) for one in book.worksheets if one.title not in EXPLAINING]
    except FileRefused:
        raise
    except Exception as error:  # the library raises whatever the broken part makes it raise
        raise FileRefused(
            _("This workbook cannot be read. Save it as XLSX or CSV again.")
        ) from error


def _sheet_grid(sheet: Any) -> list[list[str]]:
    rows = sheet.iter_rows(max_row=MOST_ROWS + 2, max_col=MOST_COLUMNS, values_only=True)
    return [[cell_text(value) for value in row] for row in rows]


def _unpacked_check(data: bytes) -> None:
    """Refuse what unpacks to far more than it is, and parts that define their own entities."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        parts = archive.infolist()
        if sum(part.file_size for part in parts) > MOST_UNPACKED:
            raise FileRefused(_("The workbook is too large when unpacked. Save it as CSV."))
        for part in parts:
            if part.filename.endswith((".xml", ".rels")) and b"<!DOCTYPE" in archive.read(part):
                raise FileRefused(_("The workbook holds what no table needs. Save it as CSV."))


def cell_text(value: Any) -> str:
    """A cell as it would be typed."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value).replace("\x00", "").strip()[:LONGEST_CELL]


def csv_text(columns: Sequence[str], rows: Iterable[Mapping[str, Any]]) -> str:
    """Rows as CSV. A cell that a spreadsheet would take for a formula is written as text."""
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, restval="", extrasaction="ignore")
    writer.writeheader()
    for row in rows:
        writer.writerow({name: _safe(row.get(name)) for name in columns})
    return out.getvalue()


def _safe(value: Any) -> str:
    text = "" if value is None else str(value)
    risky = text.startswith(("=", "@", "\t")) or (
        text[:1] in "+-" and not text[1:2].isdigit() and len(text) > 1
    )
    return f"'{text}" if risky else text


def workbook_bytes(sheets: Mapping[str, Sequence[Sequence[str]]]) -> bytes:
    """Sheets of text cells as a workbook."""
    book = Workbook(write_only=True)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(list(row))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()
