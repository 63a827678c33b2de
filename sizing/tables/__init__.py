"""Published tables and chosen values, each with its source; read once, checked when read.

One CSV a table, header ``name_unit``, key in the first column or the columns that ``key`` names.
``sources.toml`` holds one entry a table: document, edition, section, how the values were had
(``read``, ``memory``, ``computed``, ``chosen``; ``mixed`` where each row says it in a column
``how``), the number of rows and the sums of numeric columns, so that no cell changes unseen.
An entry without a CSV (``rows = 0``) is a rule that a formula applies: it has a source line only.
"""

from __future__ import annotations

import csv
import math
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from sizing.errors import OutsideTable, TableRefused

Cell = float | str | None
FOLDER = Path(__file__).parent
WAYS = ("read", "memory", "computed", "chosen", "mixed")


@dataclass(frozen=True, slots=True)
class Source:
    """Where a table comes from; ``how`` is one of ``WAYS``."""

    name: str
    document: str
    section: str
    how: str
    edition: str = ""
    rows: int = 0
    key: tuple[str, ...] = ()
    sums: Mapping[str, float] = field(default_factory=dict)
    bounds: Mapping[str, Sequence[float]] = field(default_factory=dict)
    text: tuple[str, ...] = ()
    note: str = ""

    @property
    def line(self) -> str:
        """One line for a check or a trace: document, edition, section, and how if not read."""
        words = " ".join(part for part in (self.document, self.edition) if part)
        cited = f"{words}, {self.section}" if self.section else words
        return cited if self.how in ("read", "mixed") else f"{cited} ({self.how})"


@dataclass(frozen=True, slots=True)
class Table:
    """A checked table: rows in file order, cells as float, text or ``None`` where empty."""

    name: str
    columns: tuple[str, ...]
    key: tuple[str, ...]
    rows: tuple[Mapping[str, Any], ...]
    source: Source
    index: Mapping[tuple[Cell, ...], Mapping[str, Any]]
    points: Mapping[str, tuple[tuple[float, ...], tuple[float, ...]]]  # of a single numeric key

    def row(self, *key: Cell) -> Mapping[str, Any]:
        """Row with exactly this key.

        Raises
        ------
        TableRefused
            No row has this key.
        """
        try:
            return self.index[key]
        except KeyError:
            raise TableRefused(f"table {self.name} holds no row {key}") from None

    def at(self, column: str, *key: Cell) -> Any:
        """Cell of a column in the row with exactly this key.

        Raises
        ------
        TableRefused
            No such row, or the cell is empty.
        """
        value = self.row(*key)[column]
        if value is None:
            raise TableRefused(f"table {self.name} is empty at {column}, row {key}")
        return value

    def column(self, column: str) -> tuple[Any, ...]:
        """All cells of a column in file order."""
        return tuple(row[column] for row in self.rows)

    def at_least(self, value: float) -> Mapping[str, Any]:
        """Row of the smallest numeric key not under ``value`` (single-key tables).

        Raises
        ------
        OutsideTable
            ``value`` is above the largest key.
        """
        keys = self.column(self.key[0])
        place = bisect_left(keys, value)
        if place == len(keys):
            raise OutsideTable(self.name, value, keys[0], keys[-1], self.key[0])
        return self.rows[place]

    def between(self, column: str, value: float) -> float:
        """Cell of ``column`` at ``value`` of the numeric key, straight line between rows.

        Raises
        ------
        OutsideTable
            ``value`` lies outside the rows that have this cell; nothing is clamped.
        TableRefused
            The column holds no numbers, or the key is not one number.
        """
        if column not in self.points:
            raise TableRefused(f"table {self.name} has no line between rows for {column}")
        keys, values = self.points[column]
        if not keys[0] <= value <= keys[-1]:
            raise OutsideTable(self.name, value, keys[0], keys[-1], self.key[0])
        place = bisect_left(keys, value)
        if keys[place] == value:
            return values[place]
        share = (value - keys[place - 1]) / (keys[place] - keys[place - 1])
        return values[place - 1] + share * (values[place] - values[place - 1])


@cache
def sources() -> Mapping[str, Source]:
    """Every entry of ``sources.toml`` by name."""
    import tomllib

    with (FOLDER / "sources.toml").open("rb") as file:
        entries = tomllib.load(file)
    return {name: read_source(name, entry) for name, entry in entries.items()}


def read_source(name: str, entry: Mapping[str, Any]) -> Source:
    """One entry of ``sources.toml``.

    Raises
    ------
    TableRefused
        A field is missing or ``how`` is not one of the ways.
    """
    missing = [f for f in ("document", "section", "how", "rows") if f not in entry]
    if missing:
        raise TableRefused(f"source of {name} lacks {', '.join(missing)}")
    if entry["how"] not in WAYS:
        raise TableRefused(f"source of {name}: how is {entry['how']!r}, not one of {WAYS}")
    fields: dict[str, Any] = {k: tuple(v) if k in ("key", "text") else v for k, v in entry.items()}
    return Source(name=name, **fields)


def source_line(name: str, *key: Cell) -> str:
    """Source of a table for a check or a trace; with a key, the row's own source if it has one.

    Raises
    ------
    TableRefused
        ``sources.toml`` has no such entry.
    """
    own = table(name).row(*key).get("source") if key else None
    return str(own) if own else source_of(name).line


def source_of(name: str) -> Source:
    """Entry of ``sources.toml``.

    Raises
    ------
    TableRefused
        There is none.
    """
    try:
        return sources()[name]
    except KeyError:
        raise TableRefused(f"{name} has no entry in sources.toml") from None


@cache
def table(name: str) -> Table:
    """Table of this name, checked against its source entry.

    Raises
    ------
    TableRefused
        Source missing, file missing, key unsorted or double, cell out of bounds, rows or sums
        other than stated.
    """
    path = FOLDER / f"{name}.csv"
    if not path.exists():
        raise TableRefused(f"there is no file {path.name}")
    with path.open(newline="", encoding="utf-8") as file:
        lines = list(csv.reader(file))
    return read_table(source_of(name), lines[0], lines[1:])


def read_table(source: Source, header: Sequence[str], lines: Sequence[Sequence[str]]) -> Table:
    """Table from its cells, every rule of the folder checked.

    Raises
    ------
    TableRefused
        As `table`.
    """
    columns, key = tuple(header), source.key or (header[0],)
    _refuse_ragged(source, columns, lines)
    numeric = _numeric_columns(source, columns, lines)
    rows = tuple(
        {c: _cell(v, c in numeric) for c, v in zip(columns, line, strict=True)} for line in lines
    )
    _refuse_wrong_sums(source, rows, numeric)
    _refuse_out_of_bounds(source, rows, numeric)
    _refuse_no_way(source, rows)
    index = _index(source, key, rows)
    return Table(source.name, columns, key, rows, source, index, _points(key, rows, numeric))


def _refuse_ragged(
    source: Source, columns: tuple[str, ...], lines: Sequence[Sequence[str]]
) -> None:
    unknown = [c for c in (*source.key, *source.sums, *source.text) if c not in columns]
    if unknown:
        raise TableRefused(f"source of {source.name} names columns it has not: {unknown}")
    if len(lines) != source.rows:
        raise TableRefused(f"table {source.name} has {len(lines)} rows, source says {source.rows}")
    if any(len(line) != len(columns) for line in lines):
        raise TableRefused(f"table {source.name} has a row of another length than its header")


def _numeric_columns(
    source: Source, columns: tuple[str, ...], lines: Sequence[Sequence[str]]
) -> frozenset[str]:
    def numeric(place: int) -> bool:
        cells = [line[place] for line in lines if line[place] != ""]
        return bool(cells) and all(_is_number(cell) for cell in cells)

    return frozenset(
        c for place, c in enumerate(columns) if c not in source.text and numeric(place)
    )


def _is_number(cell: str) -> bool:
    try:
        return math.isfinite(float(cell))
    except ValueError:
        return False


def _cell(cell: str, numeric: bool) -> Cell:
    if cell == "":
        return None
    return float(cell) if numeric else cell


def _refuse_wrong_sums(
    source: Source, rows: tuple[Mapping[str, Any], ...], numeric: frozenset[str]
) -> None:
    if numeric and not source.sums:
        raise TableRefused(f"source of {source.name} states no sum; columns {sorted(numeric)}")
    for column, stated in source.sums.items():
        total = sum(row[column] or 0.0 for row in rows)
        if not math.isclose(total, stated, rel_tol=1e-9, abs_tol=1e-9):
            raise TableRefused(f"{source.name}.{column} sums to {total:.12g}, source says {stated}")


def _refuse_out_of_bounds(
    source: Source, rows: tuple[Mapping[str, Any], ...], numeric: frozenset[str]
) -> None:
    for column in sorted(numeric):
        low, high = source.bounds.get(column, (0.0, math.inf))
        for row in rows:
            if row[column] is not None and not low <= row[column] <= high:
                raise TableRefused(f"{source.name}.{column} holds {row[column]}, not {low}..{high}")


def _refuse_no_way(source: Source, rows: tuple[Mapping[str, Any], ...]) -> None:
    if source.how == "mixed" and any(row.get("how") not in WAYS[:4] for row in rows):
        raise TableRefused(f"{source.name}: a row does not say how it was had: {WAYS[:4]}")


def _index(
    source: Source, key: tuple[str, ...], rows: tuple[Mapping[str, Any], ...]
) -> dict[tuple[Cell, ...], Mapping[str, Any]]:
    """Rows by key: each once, numbers ascending within the same leading key."""
    index: dict[tuple[Cell, ...], Mapping[str, Any]] = {}
    last: tuple[Cell, ...] | None = None
    for row in rows:
        mark = tuple(row[c] for c in key)
        if mark in index:
            raise TableRefused(f"table {source.name} holds key {mark} twice")
        if last and last[:-1] == mark[:-1] and _falls(last[-1], mark[-1]):
            raise TableRefused(f"table {source.name} is unsorted at {mark}")
        index[mark], last = row, mark
    return index


def _points(
    key: tuple[str, ...], rows: tuple[Mapping[str, Any], ...], numeric: frozenset[str]
) -> dict[str, tuple[tuple[float, ...], tuple[float, ...]]]:
    """For each numeric column the keys that have a cell, and the cells; none for other keys."""
    if len(key) > 1 or key[0] not in numeric:
        return {}
    filled = {c: [r for r in rows if r[c] is not None] for c in numeric}
    return {c: (tuple(r[key[0]] for r in f), tuple(r[c] for r in f)) for c, f in filled.items()}


def _falls(before: Cell, after: Cell) -> bool:
    return isinstance(before, float) and isinstance(after, float) and after < before
