"""Quantities as people write them, read at the border into a float in one stated unit.

The usual units have a short way; every other unit goes through pint, loaded when first needed.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import Any

from sizing.errors import QuantityRefused

_LENGTH = {"m": 1.0, "ft": 0.3048, "feet": 0.3048, "foot": 0.3048, "'": 0.3048, "km": 1000.0}
_POWER = {"kw": 1.0, "w": 0.001, "watts": 0.001, "hp": 0.745699871582}
_TIME = {"h": 1.0, "hr": 1.0, "hrs": 1.0, "hour": 1.0, "hours": 1.0, "min": 1 / 60, "day": 24.0}
_VOLUME = {"l": 1.0, "liter": 1.0, "liters": 1.0, "gal": 3.785411784, "gallons": 3.785411784}
_FLOW = {"l/s": 1.0, "gpm": 3.785411784 / 60, "gal/min": 3.785411784 / 60, "m3/h": 1 / 3.6}
_MASS = {"kg": 1.0, "lb": 0.45359237, "lbs": 0.45359237}
_SOUND = {"dba": 1.0, "db(a)": 1.0, "db": 1.0}

UNITS: dict[str, dict[str, float]] = {
    "m": _LENGTH,
    "kW": _POWER,
    "hp": {unit: factor / 0.745699871582 for unit, factor in _POWER.items()},
    "W": {unit: factor * 1000 for unit, factor in _POWER.items()},
    "kVA": {"kva": 1.0, "va": 0.001},
    "V": {"v": 1.0, "volt": 1.0, "volts": 1.0, "vac": 1.0, "kv": 1000.0},
    "A": {"a": 1.0, "amp": 1.0, "amps": 1.0},
    "Hz": {"hz": 1.0},
    "h": _TIME,
    "L": _VOLUME,
    "L/s": _FLOW,
    "kg": _MASS,
    "dBA": _SOUND,
    "dB": _SOUND,
    "": {"": 1.0, "%": 0.01},
    "degC": {"degc": 1.0, "°c": 1.0, "c": 1.0},
}
_EXAMPLES = {
    "m": "50 ft", "kW": "30 kW", "hp": "15 hp", "W": "1500 W", "kVA": "25 kVA", "V": "460 V",
    "A": "21 A", "Hz": "60 Hz", "h": "24 h", "L": "100 gal", "L/s": "200 gpm", "kg": "7000 lb",
    "": "0.8", "dBA": "65 dBA", "dB": "5 dB", "degC": "90 degF",
}  # fmt: skip
_FAHRENHEIT = ("degf", "°f", "f")
_VULGAR = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅛": "1/8", "⅙": "1/6"}
_PLAIN = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:e[+-]?\d+)?$", re.I)
_THOUSANDS = re.compile(r"[+-]?\d{1,3}(?:,\d{3})+(?:\.\d+)?$")
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+$")
_MIXED = re.compile(r"([+-]?)(?:(\d+)[\s-]+)?(\d+)\s*/\s*(\d+)$")
_UNIT = re.compile(r"[A-Za-zµ°]{1,20}(?:\s?[/*]?\s?[A-Za-zµ]{1,20})?$")
_SPLIT = re.compile(r"\s*([+-]?[\d.,/\s-]*\d[.,]?(?:e[+-]?\d+)?)\s*(.*?)\s*$", re.I | re.S)


def read_number(text: str) -> float:
    """Number as people write it: ``7.5``, ``7,5``, ``1,500``, ``1/2``, ``1 1/2``, ``1½``.

    A comma before exactly three digits separates thousands; any other comma is decimal.

    Raises
    ------
    QuantityRefused
        ``not_a_number``: it is none of these.
    """
    bare = _with_fractions(text).strip().replace("−", "-").replace("⁄", "/").replace(" ", " ")
    if _THOUSANDS.match(bare):
        return float(bare.replace(",", ""))
    if _DECIMAL_COMMA.match(bare):
        return float(bare.replace(",", "."))
    if mixed := _MIXED.match(bare):
        return _fraction(text, *mixed.groups())
    if _PLAIN.match(bare):
        return float(bare)
    raise QuantityRefused("not_a_number", f"“{text.strip()}” is not a number")


def _with_fractions(text: str) -> str:
    if text.isascii():
        return text
    for sign, words in _VULGAR.items():
        text = text.replace(sign, f" {words}")
    return text


def _fraction(text: str, sign: str, whole: str | None, top: str, bottom: str) -> float:
    if int(bottom) == 0:
        raise QuantityRefused("not_a_number", f"“{text.strip()}” divides by zero")
    return (-1 if sign == "-" else 1) * (int(whole or 0) + int(top) / int(bottom))


def read_quantity(
    text: str | float,
    unit: str,
    *,
    low: float | None = None,
    high: float | None = None,
    default_unit: str | None = None,
) -> float:
    """Quantity in ``unit`` from what a person wrote.

    Parameters
    ----------
    text
        Number with its unit (``15 hp``); a bare number is read in ``default_unit`` if given.
    unit
        Unit of the answer, a key of ``UNITS`` or any unit that pint knows.
    low, high
        Bounds that an answer can have [unit]; outside is refused, never clamped.
    default_unit
        Unit of a bare number.

    Returns
    -------
    float
        The value [unit].

    Raises
    ------
    QuantityRefused
        ``no_unit``, ``not_a_number``, ``unknown_unit``, ``wrong_dimension``, ``negative``,
        ``absurd``.
    """
    number, written_unit = _number_and_unit(text, unit, default_unit)
    factor, offset = _conversion(written_unit, unit)
    value = number * factor + offset
    _refuse_absurd(str(text).strip(), value, unit, low, high)
    return value


def _number_and_unit(text: str | float, unit: str, default_unit: str | None) -> tuple[float, str]:
    if isinstance(text, bool) or not isinstance(text, int | float | str):
        raise QuantityRefused("not_a_number", f"{text!r} is not a quantity; {_like(unit)}")
    if not isinstance(text, str):
        number, written_unit = float(text), ""
    else:
        parts = _SPLIT.match(_with_fractions(text))
        if not parts:
            raise QuantityRefused("not_a_number", f"“{text.strip()}” has no number; {_like(unit)}")
        number, written_unit = read_number(parts[1]), parts[2]
    if not written_unit and default_unit is None:
        raise QuantityRefused("no_unit", f"“{text}” has no unit; {_like(unit)}")
    return number, written_unit or str(default_unit)


def _like(unit: str) -> str:
    return f"write it like “{_EXAMPLES.get(unit, '10 ' + unit)}”"


def _refuse_absurd(
    text: str, value: float, unit: str, low: float | None, high: float | None
) -> None:
    if low is not None and low >= 0 > value:
        raise QuantityRefused("negative", f"“{text}” is negative; give a value of {low:g} or more")
    if not math.isfinite(value):
        raise QuantityRefused("absurd", f"“{text}” is not a finite value; {_like(unit)}")
    if low is not None and value < low:
        raise QuantityRefused("absurd", f"“{text}” is below {low:g} {unit}; check the value")
    if high is not None and value > high:
        raise QuantityRefused("absurd", f"“{text}” is above {high:,g} {unit}; check the value")


@lru_cache(maxsize=512)
def _conversion(written_unit: str, unit: str) -> tuple[float, float]:
    """Factor and offset from a written unit to the asked one."""
    plain = written_unit.strip().rstrip(".").lower()
    usual = UNITS.get(unit, {})
    if plain in usual or written_unit == unit:
        return usual.get(plain, 1.0), 0.0
    if unit == "degC" and plain in _FAHRENHEIT:
        return 5 / 9, -160 / 9
    return _conversion_by_pint(written_unit, unit)


@lru_cache(maxsize=1)
def _registry() -> Any:
    from pint import UnitRegistry

    return UnitRegistry(autoconvert_offset_to_baseunit=True)


def _conversion_by_pint(written_unit: str, unit: str) -> tuple[float, float]:
    """As `_conversion`, any unit that pint knows.

    Raises
    ------
    QuantityRefused
        ``unknown_unit`` or ``wrong_dimension``.
    """
    from pint import DimensionalityError

    given, asked = _pint_unit(written_unit), _pint_unit(unit)
    if given is None:
        message = f"the unit “{written_unit}” is not known; {_like(unit)}"
        raise QuantityRefused("unknown_unit", message)
    if asked is None:
        raise _wrong_dimension(written_unit, unit)
    try:
        offset = _registry().Quantity(0.0, given).to(asked).magnitude
        return _registry().Quantity(1.0, given).to(asked).magnitude - offset, offset
    except DimensionalityError:
        raise _wrong_dimension(written_unit, unit) from None


def _wrong_dimension(written_unit: str, unit: str) -> QuantityRefused:
    message = f"“{written_unit}” does not measure this; {_like(unit)}"
    return QuantityRefused("wrong_dimension", message)


def _pint_unit(written_unit: str) -> Any | None:
    """Unit that pint knows by this name, as written or in lower case; ``None`` where none."""
    from pint.errors import PintError

    if not _UNIT.match(written_unit):
        return None
    for name in (written_unit, written_unit.lower()):
        try:
            return _registry().Unit(name)
        except (PintError, ValueError, TypeError, SyntaxError):
            continue
    return None


def written(value: float, unit: str) -> str:
    """Value as a page writes it: thousands with commas, at most three significant decimals."""
    digits = 0 if abs(value) >= 100 else 1 if abs(value) >= 10 else 2
    number = f"{value:,.{digits}f}"
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {unit}"
