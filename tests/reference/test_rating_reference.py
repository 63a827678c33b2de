"""Derating against published problems, the standard atmosphere and ISO 3046-1.

Sources beside each check; "memory" where a method was recalled and only the numbers computed.
"""

from __future__ import annotations

import pytest

from sizing.atmosphere import standard_pressure_kpa, standard_temperature_c, vapour_pressure_kpa
from sizing.derating import Exponents, engine_exponents, iso3046_factor
from sizing.fleet import GeneratorSet
from sizing.site_rating import site_rating

FOOT_M = 0.3048
HP_KW = 0.7457
PSI_KPA = 6.894757


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


def engine_set(hp: float, **curves: object) -> GeneratorSet:
    """A set whose engine gives so many horsepower and whose alternator is never the limit."""
    return GeneratorSet(
        "S", "S", hp * HP_KW, 1.25 * hp * HP_KW, ("480Y/277",), 0.25,
        alternator_altitude_derate=((0.0, 1.0), (9000.0, 1.0)),
        alternator_ambient_derate=((0.0, 1.0), (60.0, 1.0)), **curves,
    )  # type: ignore[arg-type]  # fmt: skip


NATURAL = engine_set(
    800.0,
    engine_altitude_derate=((0.0, 1.0), (1500 * FOOT_M, 1.0), (10_000 * FOOT_M, 0.68)),
    engine_ambient_derate=((celsius(90), 1.0), (celsius(110), 0.95)),
)
BLOWN = engine_set(
    800.0,
    engine_altitude_derate=((0.0, 1.0), (1500 * FOOT_M, 1.0), (10_000 * FOOT_M, 0.74)),
    engine_ambient_derate=((celsius(90), 1.0), (celsius(110), 0.95)),
)


@pytest.mark.parametrize(
    ("engine", "intake_f", "hp"),
    [(NATURAL, 80, 544.0), (NATURAL, 110, 516.8), (BLOWN, 80, 592.0), (BLOWN, 110, 562.4)],
    ids=["natural 80 F", "natural 110 F, printed 516", "blown 80 F", "blown 110 F, printed 563"],
)
def test_an_800_hp_engine_at_10_000_ft(engine: GeneratorSet, intake_f: float, hp: float) -> None:
    """Handbook of Energy Engineering Calculations pp.201-202 (read), tolerance 0.2 %."""
    rating, findings = site_rating(engine, 10_000 * FOOT_M, celsius(intake_f))
    assert rating.engine_kw / HP_KW == pytest.approx(hp, rel=0.002)
    assert findings == []


def test_a_225_hp_engine_at_4500_ft() -> None:
    """Agricultural-engineering text, altitude page: 3 % per 1000 ft over 500 ft (problem and rule
    read, answer computed): 12 %, 198 hp."""
    rule = ((0.0, 1.0), (500 * FOOT_M, 1.0), (20_500 * FOOT_M, 0.4))
    engine = engine_set(
        225.0, engine_altitude_derate=rule, engine_ambient_derate=((0.0, 1.0), (50.0, 1.0))
    )
    rating, _ = site_rating(engine, 4500 * FOOT_M, 25.0)
    assert 100 * (1 - rating.engine_factor) == pytest.approx(12.0, rel=0.005)
    assert rating.engine_kw / HP_KW == pytest.approx(198.0, rel=0.005)


def test_a_small_air_cooled_set_of_the_army() -> None:
    """TM 9-6115-673-13&P table 2-3 (read): 1.3 % per 100 m over 1219 m, 3 % per 10 degC over 35."""
    engine = engine_set(
        2.68,
        engine_altitude_derate=((0.0, 1.0), (1219.0, 1.0), (4219.0, 1 - 0.013 * 30)),
        engine_ambient_derate=((35.0, 1.0), (55.0, 0.94)),
    )
    rating, _ = site_rating(engine, 2219.0, 45.0)
    assert rating.engine_factor == pytest.approx((1 - 0.13) * 0.97, rel=1e-6)


@pytest.mark.parametrize(
    ("feet", "fahrenheit", "psia"),
    [
        (0, 59.0, 14.696), (500, 57.2, 14.43), (1000, 55.4, 14.175), (2000, 51.9, 13.664),
        (3000, 48.3, 13.173), (4000, 44.7, 12.682), (5000, 41.2, 12.23), (6000, 37.6, 11.778),
        (7000, 34.0, 11.341), (8000, 30.5, 10.914), (9000, 26.9, 10.506), (10000, 23.4, 10.108),
        (15000, 5.5, 8.296),
    ],
)  # fmt: skip
def test_the_standard_atmosphere(feet: float, fahrenheit: float, psia: float) -> None:
    """US Standard Atmosphere table, engineersedge.com 15729 (read): 0.1 % and 0.1 degF."""
    assert standard_pressure_kpa(feet * FOOT_M) / PSI_KPA == pytest.approx(psia, rel=0.001)
    assert standard_temperature_c(feet * FOOT_M) * 1.8 + 32 == pytest.approx(fahrenheit, abs=0.1)


@pytest.mark.parametrize("feet", [0, 2500, 5000, 9600, 15000])
def test_the_foot_pound_form_of_the_atmosphere(feet: float) -> None:
    """p = 14.696 (1 - 6.8754e-6 Z)^5.2559, t = 59 - 0.0035662 Z (read on the same page)."""
    psia = 14.696 * (1 - 6.8754e-6 * feet) ** 5.2559
    assert standard_pressure_kpa(feet * FOOT_M) / PSI_KPA == pytest.approx(psia, rel=1e-4)
    assert standard_temperature_c(feet * FOOT_M) * 1.8 + 32 == pytest.approx(
        59 - 0.0035662 * feet, abs=0.01
    )


def test_the_exponent_of_the_atmosphere_is_g_m_over_r_l() -> None:
    """Hydrostatic derivation, computed: 9.80665 x 0.0289644 / (8.314462 x 0.0065) = 5.2558."""
    derived = 9.80665 * 0.0289644 / (8.314462 * 0.0065)
    pressure = 101.325 * (1 - 0.0065 * 4000 / 288.15) ** derived
    assert standard_pressure_kpa(4000.0) == pytest.approx(pressure, rel=1e-4)


@pytest.mark.parametrize(
    ("exponents", "coolant_k", "alpha", "kw"),
    [(Exponents(0, 1, 1, 0), None, 0.7682, 76.8), (Exponents(0, 0.7, 1.2, 1), 308.0, 0.7761, 77.6)],
    ids=["naturally aspirated, thermally limited", "turbocharged and aftercooled, coolant 308 K"],
)
def test_iso_3046_site_power(
    exponents: Exponents, coolant_k: float | None, alpha: float, kw: float
) -> None:
    """ISO 3046-1 (method memory, numbers computed apart): 84.31 kPa, 313 K, eta_m 0.8; 0.5 %."""
    found = iso3046_factor(exponents, 84.31, 313.0, coolant_k=coolant_k)
    assert found == pytest.approx(alpha, rel=0.005)
    assert 100 * found == pytest.approx(kw, rel=0.005)


def test_iso_3046_at_reference_changes_nothing() -> None:
    """ISO 3046-1 (memory): 100 kPa, 298 K, 30 % humidity is where k = alpha = 1."""
    for name in ("naturally_aspirated", "turbocharged", "turbocharged_aftercooled"):
        for exponents in engine_exponents(name):
            assert iso3046_factor(exponents, 100.0, 298.0, humidity=0.3) == pytest.approx(1.0)


def test_iso_3046_humidity_takes_air_from_a_naturally_aspirated_engine() -> None:
    """k with a = 1, by hand: ((84.31 - 0.6 x 7.38) / (100 - 0.3 x 3.17))^1 (298/313)^0.75."""
    k = ((84.31 - 0.6 * 7.38) / (100 - 0.3 * 3.17)) * (298 / 313) ** 0.75
    alpha = k - 0.7 * (1 - k) * (1 / 0.8 - 1)
    (air,) = engine_exponents("naturally_aspirated_excess_air")
    assert iso3046_factor(air, 84.31, 313.15) == pytest.approx(alpha, rel=0.002)


@pytest.mark.parametrize(
    ("celsius_", "kpa"), [(0, 0.611), (20, 2.339), (25, 3.169), (40, 7.384), (50, 12.35)]
)
def test_saturated_vapour(celsius_: float, kpa: float) -> None:
    """Steam tables (memory), tolerance 0.5 %."""
    assert vapour_pressure_kpa(celsius_) == pytest.approx(kpa, rel=0.005)


@pytest.mark.parametrize(
    ("altitude_m", "ambient_c", "factor"),
    [(0, 40, 1.0), (1000, 40, 1.0), (2000, 40, 0.90), (1000, 50, 0.94), (3000, 55, 0.80 * 0.91)],
)
def test_the_usual_alternator(altitude_m: float, ambient_c: float, factor: float) -> None:
    """1 % per 100 m over 1000 m, 3 % per 5 degC over 40 degC (NEMA MG 1, IEC 60034-1; memory)."""
    plain = GeneratorSet("S", "S", 60.0, 75.0, ("480Y/277",), 0.25)
    rating, _ = site_rating(plain, altitude_m, ambient_c)
    assert rating.alternator_factor == pytest.approx(factor)


def test_without_any_factor_the_ratio_of_pressures_is_near_the_formula() -> None:
    """Handbook of Energy Engineering Calculations p.202 (read): ratio of barometric pressures for
    any engine; a naturally aspirated one by ISO 3046-1 comes out lower, within 12 %, at 5000 ft."""
    ratio = standard_pressure_kpa(5000 * FOOT_M) / standard_pressure_kpa(0.0)
    plain = GeneratorSet(
        "S", "S", 60.0, 75.0, ("480Y/277",), 0.25, aspiration="naturally_aspirated"
    )
    rating, _ = site_rating(plain, 5000 * FOOT_M, 25.0)
    assert 0.88 * ratio < rating.engine_factor <= ratio
