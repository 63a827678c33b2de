"""The report of sources: every table is listed with where it comes from, and all its rows count."""

from __future__ import annotations

import re

import pytest

from sizing.sources import WORDS, report, row_ways
from sizing.tables import FOLDER, Source, sources, table

REPORT = report()


@pytest.mark.parametrize("name", sorted(sources()))
def test_every_entry_is_listed_with_document_section_and_way(name: str) -> None:
    entry = sources()[name]
    block = next(b for b in REPORT.split("\n\n") if b.splitlines()[0] == name)
    assert entry.document in block
    assert entry.section in block
    assert f"how       {entry.how}" in block


def test_every_table_file_has_an_entry_and_every_entry_with_rows_a_file() -> None:
    files = {path.stem for path in FOLDER.glob("*.csv")}
    assert files == {name for name, entry in sources().items() if entry.rows}


@pytest.mark.parametrize("name", sorted(n for n, e in sources().items() if e.rows))
def test_the_ways_of_a_table_count_its_rows(name: str) -> None:
    entry = sources()[name]
    assert sum(row_ways(entry).values()) == len(table(name).rows) == entry.rows


def test_a_rule_without_a_table_has_no_rows() -> None:
    assert row_ways(Source("rule", "d", "s", "memory")) == {}


def test_the_last_line_counts_entries_and_rows() -> None:
    last = REPORT.strip().splitlines()[-1]
    assert last.startswith(f"{len(sources())} entries; rows: ")
    counted = sum(int(n) for n in re.findall(r"(\d+) (?:read|memory|computed|chosen)", last))
    assert counted == sum(entry.rows for entry in sources().values())


def test_no_value_is_called_read_without_a_document() -> None:
    for entry in sources().values():
        if entry.how == "read":
            assert entry.document.strip()
            assert entry.section.strip() or entry.edition.strip()
    assert set(WORDS) == {"read", "memory", "computed", "chosen", "mixed"}
