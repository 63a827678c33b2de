"""A fleet as CSV: read whole or refused with every problem at its path."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demo_fixtures import fleet_path
from sizing.errors import DocumentRefused
from sizing.fleet import COLUMNS, FUEL_COLUMNS, GeneratorSet, read_fleet, write_fleet
from sizing.tables import table
from tests.sizing.composition_cast import a_fleet, a_set

DEMO = read_fleet(fleet_path())
MINIMAL = {
    "code": "S1", "name": "A set", "prime_kw": "60", "prime_kva": "75",
    "supplies": "480Y/277; 208Y/120", "transient_reactance_pu": "0.2", "fuel_25_l_h": "6.8",
    "fuel_50_l_h": "11", "fuel_75_l_h": "14.4", "fuel_100_l_h": "18.2", "tank_l": "400",
    "sound_dba_7m": "66", "dry_mass_kg": "1700",
}  # fmt: skip


def csv_of(*rows: dict[str, str]) -> str:
    """Rows as CSV text; columns are those of all rows."""
    columns = list(dict.fromkeys(name for row in rows for name in row))
    lines = [",".join(f'"{row.get(name, "")}"' for name in columns) for row in rows]
    return "\n".join([",".join(columns), *lines]) + "\n"


def problems_of(text: str) -> dict[str, str]:
    """Path to sentence of every problem."""
    with pytest.raises(DocumentRefused) as refused:
        read_fleet(text)
    return {problem.path: problem.message for problem in refused.value.problems}


def test_a_minimal_row_takes_the_record_s_defaults() -> None:
    (one,) = read_fleet(csv_of(MINIMAL))
    assert one.supplies == ("480Y/277", "208Y/120")
    assert one.fuel_l_h == (6.8, 11.0, 14.4, 18.2)
    assert (one.performance_class, one.lugs, one.quantity) == ("G2", True, 1)


def test_what_is_written_is_read_back_equal() -> None:
    assert read_fleet(write_fleet(DEMO)) == DEMO
    assert read_fleet(write_fleet(a_fleet())) == a_fleet()


@given(st.floats(1, 3000), st.floats(0.03, 0.6), st.booleans(), st.integers(0, 12))
def test_any_figure_survives_writing(kw: float, reactance: float, auto: bool, cams: int) -> None:
    one = a_set(
        kw, code="X", prime_kva=kw, transient_reactance_pu=reactance,
        auto_start=auto, cam_sets=cams, fuel_l_h=(1.0, 1.5, 2.0, 2.5), tank_l=1.0,
        dry_mass_kg=100.0,
    )  # fmt: skip
    assert read_fleet(write_fleet([one])) == (one,)


def test_the_demo_fleet_spans_15_to_400_kw_in_14_to_22_types() -> None:
    assert 14 <= len(DEMO) <= 22
    assert (min(s.prime_kw for s in DEMO), max(s.prime_kw for s in DEMO)) == (15, 400)


@pytest.mark.parametrize("one", [s for s in DEMO if s.prime_kw >= 20], ids=lambda s: s.code)
def test_the_demo_fleet_burns_what_the_published_chart_says(one: GeneratorSet) -> None:
    chart = table("fuel_chart")
    for burn, column in zip(one.fuel_l_h, chart.columns[1:], strict=True):
        assert burn == pytest.approx(chart.between(column, one.prime_kw), abs=0.06)


@pytest.mark.parametrize("one", DEMO, ids=lambda s: s.code)
def test_the_demo_reactances_lie_in_the_planning_bands(one: GeneratorSet) -> None:
    """Bands of four-pole sets: 15-60 kVA X'd 0.15-0.30, X''d 0.10-0.20; to 500 kVA X'd 0.12-0.25,
    X''d 0.08-0.16 (memory)."""
    low, high, sub_low, sub_high = (
        (0.15, 0.30, 0.10, 0.20) if one.prime_kva <= 60 else (0.12, 0.25, 0.08, 0.16)
    )
    assert low <= one.transient_reactance_pu <= high
    assert one.subtransient_reactance_pu is not None
    assert sub_low <= one.subtransient_reactance_pu <= sub_high


@pytest.mark.parametrize(
    ("column", "text", "says"),
    [
        ("prime_kw", "sixty", "is not a number"),
        ("prime_kw", "nan", "must be from 1 to 3000"),
        ("prime_kw", "-5", "must be from 1 to 3000"),
        ("prime_kw", "", "is not a number"),
        ("supplies", "480Y/277;600Y/347", "must be one of"),
        ("supplies", "", "must not be empty"),
        ("code", "", "must not be empty"),
        ("performance_class", "G4", "must be one of G1, G2, G3"),
        ("aspiration", "steam", "must be one of"),
        ("lugs", "maybe", "must be yes or no"),
        ("cam_sets", "1.5", "must be a whole number from 0 to 12"),
        ("cam_sets", "13", "must be a whole number from 0 to 12"),
        ("engine_altitude_derate", "0:1;0:0.9", "points must ascend"),
        ("engine_altitude_derate", "0:1;1000:1.2", "must be from 0.01 to 1"),
        ("engine_altitude_derate", "0", "is not a number"),
        ("receptacles", "5-20:none", "must be a whole number"),
        ("receptacles", ":2", "must not be empty"),
        ("prime_kva", "59", "between prime_kw and 1.6 times it"),
        ("subtransient_reactance_pu", "0.3", "must be below transient_reactance_pu"),
        ("fuel_25_l_h", "12", "must rise with load"),
        ("fuel_50_l_h", "13.7", "must be under twice fuel_25_l_h"),
        ("single_phase_kva", "30", "120/240 is not among the supplies"),
    ],
)
def test_a_bad_cell_is_refused_at_its_path(column: str, text: str, says: str) -> None:
    found = problems_of(csv_of({**MINIMAL, column: text}))
    assert says in found[f"fleet[0].{column}"]


def test_a_single_phase_rating_above_two_thirds_is_refused() -> None:
    row = {**MINIMAL, "supplies": "120/240;480Y/277", "single_phase_kva": "51"}
    assert "two thirds" in problems_of(csv_of(row))["fleet[0].single_phase_kva"]
    assert read_fleet(csv_of({**row, "single_phase_kva": "50"}))[0].single_phase_kva == 50


def test_a_set_of_one_position_gives_all_its_power_there() -> None:
    row = {**MINIMAL, "supplies": "120/240", "single_phase_kva": "75"}
    assert read_fleet(csv_of(row))[0].single_phase_kva == 75


def test_all_problems_of_all_rows_come_at_once() -> None:
    second = {**MINIMAL, "code": "S2", "tank_l": "big", "lugs": "x"}
    third = {**MINIMAL, "prime_kw": "0"}
    found = problems_of(csv_of(MINIMAL, second, third))
    assert set(found) == {
        "fleet[1].tank_l", "fleet[1].lugs", "fleet[2].prime_kw", "fleet[2].code",
    }  # fmt: skip
    assert "already the code of fleet[0]" in found["fleet[2].code"]


def test_headers_are_checked_before_rows() -> None:
    found = problems_of("code,code,colour\nS1,S1,red\n")
    assert "unknown column" in found["fleet.colour"]
    assert "there twice" in found["fleet.code"]
    assert {f"fleet.{n}" for n, c in COLUMNS.items() if c.needed and n != "code"} <= set(found)


def test_a_row_longer_than_the_header_is_refused() -> None:
    text = csv_of(MINIMAL).rstrip("\n") + ',"extra"\n'
    assert problems_of(text)["fleet[0]"] == "has more cells than the header"


def test_a_short_row_lacks_its_last_cells() -> None:
    text = csv_of(MINIMAL)
    assert "fleet[0].dry_mass_kg" in problems_of(text.rsplit(",", 1)[0] + "\n")


def test_an_empty_fleet_and_a_file_that_is_no_csv_are_refused() -> None:
    assert problems_of(csv_of(MINIMAL).splitlines()[0] + "\n") == {"fleet": "has no set"}
    assert "not a CSV" in problems_of('code,name\n"S1"x,y\n')["fleet"]
    assert problems_of("\n")  # no header at all


def test_a_file_is_read_with_or_without_a_byte_order_mark(tmp_path: Path) -> None:
    path = tmp_path / "fleet.csv"
    path.write_text("\ufeff" + csv_of(MINIMAL), encoding="utf-8")
    assert read_fleet(path) == read_fleet(str(path)) == read_fleet("\ufeff" + csv_of(MINIMAL))


def test_a_file_that_cannot_be_read_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "fleet.csv"
    with pytest.raises(DocumentRefused, match="No such file"):
        read_fleet(path)
    path.write_bytes(b"code\n\xff\xfe\n")
    with pytest.raises(DocumentRefused, match="not UTF-8"):
        read_fleet(path)


def test_fuel_stands_in_its_four_columns() -> None:
    header, row = write_fleet([a_set()]).splitlines()
    cells = dict(zip(header.split(","), row.split(","), strict=True))
    assert [float(cells[name]) for name in FUEL_COLUMNS] == list(a_set().fuel_l_h)
