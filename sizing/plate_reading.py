"""A nameplate from what a person typed or from a document's object, checked as a whole."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, fields
from functools import cache
from typing import Any

from sizing.errors import Problem, QuantityRefused
from sizing.plate import Nameplate, NameplateRefused
from sizing.plate_text import plate_text
from sizing.plate_volts import groups, one_to_one, ranges_of
from sizing.quantity import read_quantity
from sizing.tables import table

_LISTS = ("volts", "amps", "service_factor_amps", "locked_rotor_amps_each")
_SHARES = ("power_factor", "efficiency")
_WORDS = ("text", "system", "secondary", "lamp_type", "duty")
_WORD_LISTS = ("noted", "not_understood")
_CHOICES: Mapping[str, tuple[Any, ...]] = {
    "phases": (1, 3),
    "code_letter": tuple("ABCDEFGHJKLMNPRSTUV"),
    "design_letter": tuple("ABCD"),
    "typical": (True, False),
}
_SAYING = (
    "hp", "shaft_kw", "watts", "kva", "volts", "amps", "service_factor_amps", "system",
    "secondary", "phases", "hertz", "locked_rotor_amps", "min_circuit_amps",
    "max_overcurrent_amps", "cooling_btu_h",
)  # fmt: skip
_LIKE = "write numbers with units, like “15 hp 460 V 3 ph 60 Hz 21 A”"


def read_nameplate(given: str | Mapping[str, Any]) -> Nameplate:
    """Nameplate from free text or from an object of its fields.

    Parameters
    ----------
    given
        Text as stamped or typed, or the fields of `Nameplate`; quantities in an object are numbers
        in the unit of the field's name or texts with their unit.

    Returns
    -------
    Nameplate
        What was understood; what was not stands in ``not_understood``.

    Raises
    ------
    NameplateRefused
        Nothing was understood, a field is unknown or unreadable, or a value is outside its limits;
        holds every problem.
    """
    plate = plate_text(given) if isinstance(given, str) else plate_object(given)
    problems = outside_limits(plate)
    if not problems and not any(getattr(plate, name) for name in _SAYING):
        problems = [Problem("", "nothing_understood", _nothing(plate))]
    if problems:
        raise NameplateRefused(problems)
    return plate


def _nothing(plate: Nameplate) -> str:
    words = ", ".join(f"“{w}”" for w in (*plate.not_understood, *plate.noted))
    return f"{words}: not understood; {_LIKE}" if words else f"the plate is empty; {_LIKE}"


def outside_limits(plate: Nameplate) -> list[Problem]:
    """A problem for every value that no towable set could ever meet, or that is no such value."""
    problems = []
    for row in table("nameplate_limits").rows:
        value = getattr(plate, row["field"])
        for number in value if isinstance(value, tuple) else (value,):
            if number is not None and not row["low"] <= number <= row["high"]:
                problems.append(Problem(row["field"], "absurd", _absurd(number, row)))
    return problems


def _absurd(number: float, row: Mapping[str, Any]) -> str:
    unit = f" {row['unit']}" if row["unit"] else ""
    named = row["field"].replace("_", " ")
    return (
        f"{named} of {number:,g}{unit} is not between {row['low']:,g} and {row['high']:,g}{unit}; "
        "check the plate"
    )


def plate_object(given: Mapping[str, Any]) -> Nameplate:
    """Nameplate from a document's object.

    Raises
    ------
    NameplateRefused
        It is no object, a field is unknown, or its value cannot be read.
    """
    if not isinstance(given, Mapping):
        raise NameplateRefused([Problem("", "malformed", f"{given!r} is not a plate; {_LIKE}")])
    values: dict[str, Any] = {}
    problems: list[Problem] = []
    for name, value in given.items():
        if value not in (None, "unsure", "", [], ()):
            _take(str(name), value, values, problems)
    if problems:
        raise NameplateRefused(problems)
    return Nameplate(**_windings(values))


@cache
def _readers() -> Mapping[str, Callable[[str, Any], Any]]:
    """How each field of an object is read."""
    readers: dict[str, Callable[[str, Any], Any]] = {
        row["field"]: _quantity for row in table("nameplate_limits").rows if row["unit"]
    }
    readers.update({f.name: readers.get(f.name, _quantity) for f in fields(Nameplate)})
    readers.update(dict.fromkeys(_LISTS, _list))
    readers.update(dict.fromkeys(_SHARES, _share))
    readers.update(dict.fromkeys(_WORDS, _word))
    readers.update(dict.fromkeys(_WORD_LISTS, _words))
    readers.update(dict.fromkeys(_CHOICES, _choice))
    readers["volt_ranges"] = _ranges
    readers["pieces"] = _count
    return readers


def _take(name: str, value: Any, values: dict[str, Any], problems: list[Problem]) -> None:
    reader = _readers().get(name)
    if reader is None:
        near = ", ".join(sorted(_readers()))
        message = f"a plate has no field “{name}”; its fields are {near}"
        problems.append(Problem(name, "unknown_field", message))
        return
    try:
        values[name] = reader(name, value)
    except QuantityRefused as refusal:
        problems.append(Problem(name, refusal.code, refusal.message))


def _refused(value: Any, what: str) -> QuantityRefused:
    return QuantityRefused("malformed", f"“{value}” cannot be read; give {what}")


def _quantity(name: str, value: Any) -> float:
    unit = table("nameplate_limits").row(name)["unit"] or ""
    return read_quantity(value, unit, low=0, default_unit=unit)


def _count(name: str, value: Any) -> int:
    number = read_quantity(value, "", low=0, default_unit="")
    if number != int(number):
        raise _refused(value, "a whole number")
    return int(number)


def _share(name: str, value: Any) -> float:
    text = value.strip().rstrip("%") if isinstance(value, str) else value
    number = read_quantity(text, "", low=0, default_unit="")
    return number / 100 if number > 1 else number


def _word(name: str, value: Any) -> str:
    if not isinstance(value, str):
        raise _refused(value, "a text")
    return value.strip()


def _words(name: str, value: Any) -> tuple[str, ...]:
    if not isinstance(value, list | tuple):
        raise _refused(value, "a list of texts")
    return tuple(_word(name, word) for word in value)


def _choice(name: str, value: Any) -> Any:
    taken = value.strip().upper() if isinstance(value, str) else value
    if (
        type(taken) not in {type(choice) for choice in _CHOICES[name]}
        or taken not in _CHOICES[name]
    ):
        raise _refused(value, "one of " + ", ".join(str(c) for c in _CHOICES[name]))
    return taken


def _list(name: str, value: Any) -> Any:
    """Numbers of a list, or windings of a text such as "208-230/460 V"."""
    unit = table("nameplate_limits").row(name)["unit"]
    if isinstance(value, str):
        return groups(value.strip().rstrip("VvAacC ").strip())
    numbers = value if isinstance(value, list | tuple) else [value]
    return tuple(read_quantity(number, unit, low=0, default_unit=unit) for number in numbers)


def _ranges(name: str, value: Any) -> tuple[tuple[float, float], ...]:
    pairs = [_list("volts", pair) for pair in _sequence(value)]
    if any(len(pair) != 2 or not isinstance(pair[0], float) for pair in pairs):
        raise _refused(value, "pairs of lowest and highest volts")
    return tuple((min(pair), max(pair)) for pair in pairs)


def _sequence(value: Any) -> list[Any]:
    if not isinstance(value, list | tuple):
        raise _refused(value, "pairs of lowest and highest volts")
    return list(value)


def _windings(values: dict[str, Any]) -> dict[str, Any]:
    """Texts of windings spread out, volts and amperes one to one."""
    written = {n: v for n, v in values.items() if n in _LISTS and v and not _is_flat(v)}
    volts = written.get("volts", ())
    if volts:
        values["volt_ranges"] = values.get("volt_ranges") or ranges_of(volts)
    spread = {n: one_to_one(volts, found)[1] for n, found in written.items() if n != "volts"}
    return {**values, **spread, **({"volts": one_to_one(volts, ())[0]} if volts else {})}


def _is_flat(found: tuple[Any, ...]) -> bool:
    return isinstance(found[0], float)


def as_object(plate: Nameplate) -> dict[str, Any]:
    """Fields of a plate that say something, as an object that `read_nameplate` reads back."""
    return {name: value for name, value in asdict(plate).items() if value not in (None, "", ())}
