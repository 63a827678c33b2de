"""Quantities as people write them."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.errors import QuantityRefused
from sizing.quantity import UNITS, read_number, read_quantity, written


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("7.5", 7.5), ("7,5", 7.5), ("1,500", 1500), ("12,345,678", 12345678), ("1,234.5", 1234.5),
        (".5", 0.5), ("5.", 5), ("1/2", 0.5), ("1 1/2", 1.5), ("1-1/2", 1.5), ("1½", 1.5),
        ("¾", 0.75), ("1⁄2", 0.5), ("-3", -3), ("−3", -3), ("1e3", 1000), ("1,50", 1.5),
    ],
)  # fmt: skip
def test_a_number_is_read_as_people_write_it(text: str, number: float) -> None:
    assert read_number(text) == pytest.approx(number)


@pytest.mark.parametrize("text", ["", "x", "1/0", "1,2,3", "1.2.3", "1,23,4", "--1"])
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(QuantityRefused) as refusal:
        read_number(text)
    assert refusal.value.code == "not_a_number"


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("15 hp", "hp", 15), ("15hp", "hp", 15), ("15 HP", "hp", 15), ("15 hp", "kW", 11.185498),
        ("9600 ft", "m", 2926.08), ("5,000 feet", "m", 1524), ("75'", "m", 22.86),
        ("90 degF", "degC", 32.2222), ("90 °F", "degC", 32.2222), ("32F", "degC", 0),
        ("300 K", "degC", 26.85), ("40 °C", "degC", 40), ("30 min", "h", 0.5), ("2 days", "h", 48),
        ("100 gal", "L", 378.5411784), ("200 gpm", "L/s", 12.618039), ("3 m3/h", "L/s", 0.83333),
        ("7,000 lb", "kg", 3175.1466), ("3 Miles", "m", 4828.032), ("2 MW", "kW", 2000),
        ("24 furlong", "m", 4828.0416), ("1½ hp", "hp", 1.5), ("65 dB(A)", "dBA", 65),
        ("0.48 kV", "V", 480), ("500 VA", "kVA", 0.5),
        ("80 %", "", 0.8),
    ],
)  # fmt: skip
def test_a_quantity_comes_in_the_unit_asked_for(text: str, unit: str, value: float) -> None:
    assert read_quantity(text, unit) == pytest.approx(value, rel=1e-5, abs=1e-9)


@pytest.mark.parametrize("unit", ["kW", "hp", "W", "m", "h", "L", "L/s", "kg", "V", "A", "Hz"])
def test_the_short_way_agrees_with_a_units_library(unit: str) -> None:
    """pint is the reference library; spellings that it lacks are left out by name."""
    registry = pint.UnitRegistry()
    spelled = {"'": "ft", "hrs": "hour", "lbs": "lb", "gallons": "gallon", "gal/min": "gallon/min",
               "gpm": "gallon/min", "m3/h": "m**3/h", "l/s": "L/s", "hz": "Hz", "kw": "kW",
               "w": "W", "v": "V", "volts": "V", "vac": "V", "kv": "kV", "a": "A", "amp": "A",
               "amps": "A", "h": "hour", "hr": "hour", "l": "L", "watts": "W",
               "liters": "L"}  # fmt: skip
    for name, factor in UNITS[unit].items():
        expected = registry.Quantity(1.0, spelled.get(name, name)).to(unit).magnitude
        assert factor == pytest.approx(expected, rel=1e-9), name


@pytest.mark.parametrize(
    ("text", "unit", "code", "words"),
    [
        ("460", "V", "no_unit", "460 V"),
        (460, "V", "no_unit", "460"),
        ("15 horse", "hp", "unknown_unit", "“horse”"),
        ("5 m(", "m", "unknown_unit", "50 ft"),
        ("5 kg", "m", "wrong_dimension", "50 ft"),
        ("5 kg", "dBA", "wrong_dimension", "65 dBA"),
        ("5 kg", "", "wrong_dimension", "0.8"),
        ("ft", "m", "not_a_number", "no number"),
        (None, "m", "not_a_number", "None"),
        (True, "m", "not_a_number", "True"),
        ("-3 ft", "m", "negative", "0 or more"),
        ("1e400 m", "m", "absurd", "finite"),
        ("12000 m", "m", "absurd", "above 6,200 m"),
        ("5 x y z", "rpm", "unknown_unit", "10 rpm"),
    ],
)
def test_each_slip_has_its_own_sentence(text: object, unit: str, code: str, words: str) -> None:
    with pytest.raises(QuantityRefused) as refusal:
        read_quantity(text, unit, low=0, high=6200)  # type: ignore[arg-type]
    assert refusal.value.code == code
    assert words in refusal.value.message


def test_below_the_low_bound_is_absurd_where_negative_values_exist() -> None:
    with pytest.raises(QuantityRefused) as refusal:
        read_quantity("-90 degC", "degC", low=-55, high=60)
    assert (refusal.value.code, "below -55" in refusal.value.message) == ("absurd", True)
    assert read_quantity("-40 degF", "degC", low=-55, high=60) == pytest.approx(-40)


def test_the_bounds_themselves_are_taken() -> None:
    assert read_quantity("0 m", "m", low=0, high=10) == 0
    assert read_quantity("10 m", "m", low=0, high=10) == 10


def test_a_bare_number_takes_the_default_unit() -> None:
    assert read_quantity(24, "h", default_unit="h") == 24
    assert read_quantity("24", "h", default_unit="min") == pytest.approx(0.4)
    assert read_quantity(0.8, "", default_unit="") == 0.8


@given(st.text(max_size=40), st.sampled_from([*UNITS, "psi"]))
def test_no_text_raises_anything_but_a_refusal(text: str, unit: str) -> None:
    try:
        value = read_quantity(text, unit, low=0, high=1e9)
    except QuantityRefused:
        return
    assert math.isfinite(value)


@given(st.floats(0.001, 1e6), st.sampled_from(["ft", "m", "km"]))
def test_a_written_quantity_reads_back(value: float, unit: str) -> None:
    once = read_quantity(f"{value!r} {unit}", "m")
    assert read_quantity(f"{once!r} m", unit if unit != "ft" else "ft") == pytest.approx(value)


@pytest.mark.parametrize(
    ("value", "text"),
    [(1500.0, "1,500 kW"), (12.345, "12.3 kW"), (1.5, "1.5 kW"), (100.0, "100 kW"), (0, "0 kW"),
     (9.999, "10 kW"), (0.25, "0.25 kW"), (99.96, "100 kW")],
)  # fmt: skip
def test_a_value_is_written_with_few_decimals(value: float, text: str) -> None:
    assert written(value, "kW") == text
