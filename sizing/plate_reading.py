"""A nameplate from what a person typed or from a document's object, checked as a whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields as fields_of
from typing import Any

from sizing.errors import Problem, QuantityRefused
from sizing.plate import Nameplate, NameplateRefused
from sizing.plate_text import plate_text
from sizing.plate_volts import groups
from sizing.quantity import read_quantity

_UNITS = {
    "hp": "hp", "shaft_kw": "kW", "watts": "W", "kva": "kVA", "hertz": "Hz",
    "locked_rotor_amps": "A", "min_circuit_amps": "A", "max_overcurrent_amps": "A",
}  # fmt: skip
LIMITS = {
    "hp": (0.01, 5000.0, "hp"), "shaft_kw": (0.01, 4000.0, "kW"), "watts": (1.0, 4e6, "W"),
    "kva": (0.01, 5000.0, "kVA"), "hertz": (25.0, 400.0, "Hz"),
}  # fmt: skip
_USABLE = (
    "hp", "shaft_kw", "watts", "kva", "volts", "amps", "system", "locked_rotor_amps",
    "min_circuit_amps", "cooling_btu_h", "phases", "hertz", "lamp_type",
)  # fmt: skip


def read_nameplate(given: str | Mapping[str, Any]) -> Nameplate:
    """Nameplate from free text or from an object of its fields.

    Raises
    ------
    NameplateRefused
        Nothing was understood, a field is unknown, or a value is outside its limits.
    """
    plate = plate_text(given) if isinstance(given, str) else plate_object(given)
    problems = _outside_limits(plate)
    if not any(getattr(plate, name) for name in _USABLE):
        problems.append(Problem("", "nothing_understood", _nothing(plate)))
    if problems:
        raise NameplateRefused(problems)
    return plate


def _nothing(plate: Nameplate) -> str:
    words = ", ".join(f"“{w}”" for w in plate.not_understood) or "nothing"
    return f"{words}: not understood; write numbers with units, like “15 hp 460 V 3 ph 60 Hz 21 A”"


def _outside_limits(plate: Nameplate) -> list[Problem]:
    problems = []
    for name, (low, high, unit) in LIMITS.items():
        value = getattr(plate, name)
        if value is not None and not low <= value <= high:
            message = f"{value:g} {unit} is not between {low:g} and {high:,g} {unit}; check the plate"
            problems.append(Problem(name, "absurd", message))
    return problems


def plate_object(given: Mapping[str, Any]) -> Nameplate:
    """Nameplate from a document's object; values are numbers, or texts with a unit.

    Raises
    ------
    NameplateRefused
        A field is unknown or its value cannot be read.
    """
    known = {f.name for f in fields_of(Nameplate)}
    problems: list[Problem] = []
    values: dict[str, Any] = {}
    for name, value in given.items():
        if name not in known:
            problems.append(Problem(name, "unknown_field", f"a plate has no field “{name}”"))
        elif value not in (None, "unsure"):
            _take(name, value, values, problems)
    if problems:
        raise NameplateRefused(problems)
    return Nameplate(**values)


def _take(name: str, value: Any, values: dict[str, Any], problems: list[Problem]) -> None:
    try:
        if name in ("volts", "amps"):
            values[name] = _list(value)
        elif name in _UNITS:
            values[name] = read_quantity(value, _UNITS[name], low=0, default_unit=_UNITS[name])
        else:
            values[name] = value
    except QuantityRefused as refusal:
        problems.append(Problem(name, refusal.code, refusal.message))


def _list(value: Any) -> tuple[float, ...]:
    if isinstance(value, str):
        return tuple(v for g in groups(value) for v in g.values)
    return tuple(float(v) for v in (value if isinstance(value, list | tuple) else (value,)))
