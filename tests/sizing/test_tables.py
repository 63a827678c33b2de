"""The table loader refuses what it cannot vouch for; every table stands as its source says."""

from __future__ import annotations

import csv
from collections.abc import Callable
from typing import Any

import pytest

from sizing import tables
from sizing.errors import OutsideTable, TableRefused
from sizing.tables import FOLDER, Source, read_source, read_table, source_line, source_of, table

ENTRY = {"document": "Handbook", "section": "Table 1", "how": "read", "rows": 2}


def source(**changes: Any) -> Source:
    return read_source("sample", {**ENTRY, "sums": {"kw": 3.0}, **changes})


HEADER, LINES = ["hp", "kw", "name"], [["1", "1.0", "a"], ["2", "2.0", "b"]]


def test_a_table_looks_up_by_key() -> None:
    found = read_table(source(), HEADER, LINES)
    assert found.at("kw", 2.0) == 2.0
    assert found.row(1.0)["name"] == "a"
    assert found.column("name") == ("a", "b")


@pytest.mark.parametrize(
    ("changes", "lines", "words"),
    [
        ({"rows": 3}, LINES, "has 2 rows"),
        ({"key": ["volts"]}, LINES, "columns it has not"),
        ({}, [["1", "1.0", "a"], ["2", "2.0"]], "another length"),
        ({}, [["2", "2.0", "a"], ["1", "1.0", "b"]], "unsorted"),
        ({}, [["1", "1.0", "a"], ["1", "2.0", "b"]], "twice"),
        ({}, [["1", "1.0", "a"], ["2", "2.1", "b"]], "sums to"),
        ({"sums": {}}, LINES, "states no sum"),
        ({"sums": {"kw": 1.0}}, [["1", "-1.0", "a"], ["2", "2.0", "b"]], "holds -1.0"),
        ({"bounds": {"kw": [0, 1.5]}}, LINES, "holds 2.0"),
        ({"how": "mixed"}, LINES, "does not say how"),
    ],
)
def test_a_damaged_table_is_refused(
    changes: dict[str, Any], lines: list[list[str]], words: str
) -> None:
    with pytest.raises(TableRefused, match=words):
        read_table(source(**changes), HEADER, lines)


@pytest.mark.parametrize("gone", ["document", "section", "how", "rows"])
def test_a_source_must_say_document_section_way_and_rows(gone: str) -> None:
    with pytest.raises(TableRefused, match=gone):
        read_source("sample", {k: v for k, v in ENTRY.items() if k != gone})


def test_a_source_says_how_its_values_were_had() -> None:
    with pytest.raises(TableRefused, match="guessed"):
        read_source("sample", {**ENTRY, "how": "guessed"})
    assert source(edition="2023").line == "Handbook 2023, Table 1"
    assert source(how="memory").line == "Handbook, Table 1 (memory)"
    assert source(section="").line == "Handbook"


def test_text_columns_stay_text_and_empty_cells_are_none() -> None:
    found = read_table(
        source(text=["hp"], sums={"kw": 1.0}), ["hp", "kw"], [["10", "1.0"], ["9", ""]]
    )
    assert found.row("9")["kw"] is None
    with pytest.raises(TableRefused, match="empty at kw"):
        found.at("kw", "9")


def test_an_unknown_key_is_an_error() -> None:
    with pytest.raises(TableRefused, match="no row"):
        table("code_letters").row("Q")


def test_the_next_row_up_and_the_line_between_stay_inside_the_table() -> None:
    found = read_table(source(), HEADER, LINES)
    assert found.at_least(1.5)["name"] == "b"
    assert found.at_least(1.0)["name"] == "a"
    assert found.between("kw", 1.5) == 1.5
    assert found.between("kw", 2.0) == 2.0
    calls: tuple[Callable[[], object], ...] = (
        lambda: found.at_least(2.1), lambda: found.between("kw", 0.9),
        lambda: found.between("kw", 2.1),
    )  # fmt: skip
    for call in calls:
        with pytest.raises(OutsideTable) as outside:
            call()
        assert (outside.value.low, outside.value.high) == (1.0, 2.0)


def test_a_column_without_cells_has_no_line() -> None:
    found = read_table(source(sums={"hp": 3.0}), ["hp", "kw"], [["1", ""], ["2", ""]])
    two_keys = read_table(source(key=["hp", "kw"]), HEADER, LINES)
    for lineless in (found, two_keys):
        with pytest.raises(TableRefused, match="no line between"):
            lineless.between("kw", 1.0)
    sparse = read_table(source(sums={"kw": 2.0}), HEADER[:2], [["1", ""], ["2", "2.0"]])
    with pytest.raises(OutsideTable):
        sparse.between("kw", 1.0)
    assert sparse.between("kw", 2.0) == 2.0


def test_keys_ascend_within_the_same_leading_key() -> None:
    rows = [["b", "1"], ["b", "2"], ["a", "1"]]
    entry = source(key=["name", "hp"], rows=3, sums={"hp": 4.0})
    assert read_table(entry, ["name", "hp"], rows).row("a", 1.0)
    with pytest.raises(TableRefused, match="unsorted"):
        read_table(entry, ["name", "hp"], [rows[1], rows[0], rows[2]])


def test_a_table_without_file_or_source_is_refused() -> None:
    with pytest.raises(TableRefused, match="no file"):
        table("nothing_like_it")
    with pytest.raises(TableRefused, match="no entry"):
        source_of("nothing_like_it")


def test_a_row_may_have_its_own_source() -> None:
    assert "Table 5-2" in source_line("starting_methods", "wye_delta")
    assert source_line("starting_methods", "vfd").startswith("100-150 %")
    assert source_line("code_letters", "G") == "NFPA 70 (NEC) 2023, Table 430.7(B)"
    assert source_line("code_letters") == "NFPA 70 (NEC) 2023, Table 430.7(B)"


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.csv")), ids=lambda p: p.stem)
def test_every_table_on_disk_loads_and_has_a_source(path: Any) -> None:
    assert table(path.stem).source.document
    header = next(csv.reader(path.open(encoding="utf-8")))
    assert len(set(header)) == len(header)


def test_every_source_has_its_table_or_is_a_rule() -> None:
    for name, entry in tables.sources().items():
        assert entry.rows == 0 or (FOLDER / f"{name}.csv").exists(), name
