"""Chapter 6: records linear between points, ISO 3046-1 without, never clamped in silence."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.atmosphere import standard_pressure_kpa, standard_temperature_c, vapour_pressure_kpa
from sizing.derating import along, engine_share
from sizing.errors import OutsideTable, TableRefused
from sizing.finding import Severity
from sizing.site_rating import site_rating
from sizing.trace import Trace
from tests.sizing.electrical_cast import a_set

POINTS = ((0.0, 1.0), (1000.0, 1.0), (3000.0, 0.8))
RECORD = a_set(
    engine_altitude_derate=POINTS,
    engine_ambient_derate=((25.0, 1.0), (40.0, 1.0), (50.0, 0.9)),
    alternator_altitude_derate=((0.0, 1.0), (1000.0, 1.0), (4000.0, 0.7)),
    alternator_ambient_derate=((40.0, 1.0), (60.0, 0.88)),
)


@pytest.mark.parametrize(
    ("value", "factor"),
    [(-100, 1.0), (0, 1.0), (500, 1.0), (1000, 1.0), (2000, 0.9), (3000, 0.8), (4000, 0.7)],
)
def test_factors_are_straight_between_points_and_go_on_past_the_last(
    value: float, factor: float
) -> None:
    assert along(POINTS, value) == pytest.approx(factor)


def test_one_point_holds_everywhere_and_never_raises_a_rating() -> None:
    assert along(((0.0, 0.9),), 5000.0) == 0.9
    assert along(((0.0, 1.2),), 5000.0) == along(((0.0, 1.2),), -5.0) == 1.0
    assert along(((0.0, 0.5), (100.0, 0.8)), 900.0) == 0.8
    assert along(((0.0, 1.0), (100.0, 0.1)), 900.0) == 0.0


def test_the_record_derates_engine_and_alternator_apart_and_the_lower_counts() -> None:
    rating, findings = site_rating(RECORD, 2000.0, 50.0)
    assert rating.engine_factor == pytest.approx(0.9 * 0.9)
    assert rating.alternator_factor == pytest.approx(0.9 * 0.94)
    assert rating.site_kw == rating.engine_kw == pytest.approx(60 * 0.81)
    assert rating.site_kva == pytest.approx(75 * 0.846)
    assert rating.governs == "engine"
    assert findings == []


def test_the_alternator_governs_where_it_keeps_less() -> None:
    rating, _ = site_rating(
        replace(RECORD, engine_altitude_derate=((0.0, 1.0), (5000.0, 1.0))), 4000.0, 25.0
    )
    assert rating.governs == "alternator"
    assert rating.site_kw == pytest.approx(60 * 0.7)


def test_past_the_data_a_person_decides_and_the_rating_is_provisional() -> None:
    rating, findings = site_rating(RECORD, 3500.0, 55.0)
    assert {f.subject for f in findings} == {"site.altitude", "site.ambient"}
    assert all(f.code == "outside_table" and f.severity is Severity.NEEDS_PERSON for f in findings)
    assert findings[0].evidence["last"] == 3000.0
    assert "provisional" in findings[0].detail
    assert findings[0].question.startswith("What does the maker allow")
    assert rating.engine_factor == pytest.approx(0.75 * 0.85)


@pytest.mark.parametrize(
    ("altitude", "ambient", "count"), [(4000, 55, 0), (4001, 55, 2), (0, 56, 1), (0, 61, 2)]
)
def test_the_general_formulas_have_an_end_too(altitude: float, ambient: float, count: int) -> None:
    assert len(site_rating(a_set(), altitude, ambient)[1]) == count


def test_a_site_above_the_atmosphere_is_refused() -> None:
    with pytest.raises(OutsideTable, match="standard_atmosphere"):
        site_rating(a_set(), 12_000.0, 25.0)
    with pytest.raises(OutsideTable):
        standard_temperature_c(-600.0)


def test_an_unknown_aspiration_is_refused() -> None:
    with pytest.raises(TableRefused, match="steam"):
        site_rating(a_set(aspiration="steam"), 0.0, 25.0)


def test_one_missing_curve_is_filled_by_the_formula_with_the_other_at_reference() -> None:
    only_altitude = replace(a_set(), engine_altitude_derate=POINTS)
    only_ambient = replace(a_set(), engine_ambient_derate=((25.0, 1.0), (50.0, 0.9)))
    assert engine_share(only_altitude, 2000.0, 20.0).factor == pytest.approx(0.9)
    assert engine_share(only_altitude, 2000.0, 45.0).factor < 0.9
    assert engine_share(only_ambient, -80.0, 50.0).factor == pytest.approx(0.9)
    assert engine_share(only_ambient, 2000.0, 50.0).factor < 0.9


def test_a_naturally_aspirated_engine_takes_the_lower_of_air_and_heat() -> None:
    dry = engine_share(a_set(aspiration="naturally_aspirated_thermal"), 1500.0, 40.0).factor
    air = engine_share(a_set(aspiration="naturally_aspirated_excess_air"), 1500.0, 40.0).factor
    assert engine_share(a_set(aspiration="naturally_aspirated"), 1500.0, 40.0).factor == min(
        dry, air
    )


def test_low_and_cold_never_raise_a_rating() -> None:
    rating, findings = site_rating(a_set(), -80.0, -10.0)
    assert rating.site_kw == 60.0
    assert findings == []


def test_the_trace_multiplies_out() -> None:
    trace = Trace()
    rating, _ = site_rating(RECORD, 2000.0, 50.0, trace)
    assert (
        f"60.0 kW x {rating.engine_factor:.4f} = {rating.engine_kw:.1f} kW" in trace.lines[0].line
    )
    assert "the engine governs" in trace.lines[2].line
    assert all(line.source for line in trace.lines)


HEIGHTS = st.floats(-400, 5000)
HEATS = st.floats(-20, 60)
KINDS = st.sampled_from(
    [
        RECORD,
        *(
            a_set(aspiration=a)
            for a in ("turbocharged_aftercooled", "turbocharged", "naturally_aspirated")
        ),
    ]
)


@given(KINDS, HEIGHTS, HEIGHTS, HEATS, HEATS)
def test_higher_or_hotter_is_never_a_larger_rating(
    set_: object, z1: float, z2: float, t1: float, t2: float
) -> None:
    easy = site_rating(set_, min(z1, z2), min(t1, t2))[0]  # type: ignore[arg-type]
    hard = site_rating(set_, max(z1, z2), max(t1, t2))[0]  # type: ignore[arg-type]
    assert hard.engine_kw <= easy.engine_kw + 1e-9
    assert hard.alternator_kva <= easy.alternator_kva + 1e-9
    assert hard.site_kw <= easy.site_kw + 1e-9


@given(HEIGHTS)
def test_pressure_falls_with_height(altitude_m: float) -> None:
    assert standard_pressure_kpa(altitude_m + 100) < standard_pressure_kpa(altitude_m)


def test_vapour_pressure_rises_with_heat() -> None:
    assert vapour_pressure_kpa(40.0) > vapour_pressure_kpa(25.0) > vapour_pressure_kpa(0.0)
