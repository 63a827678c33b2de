"""Chapter 8, underneath: the lines of a system, where a single-phase piece may sit, and phasors."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Mapping
from typing import NamedTuple

Currents = tuple[complex, complex, complex]  # into the three lines (L1, L2 and none at 120/240)


class Place(NamedTuple):
    """Where a single-phase piece may sit: its name and its unit current in each line.

    ``neutral`` is the unit current in the neutral, ``third`` the sign of its third harmonic there.
    """

    name: str
    unit: Currents
    neutral: complex
    third: complex


class System(NamedTuple):
    """The lines of a C84.1 system: phasors to neutral, and the places between them."""

    name: str
    lines: tuple[str, ...]
    line_volts: float
    balanced: Currents  # unit line currents of a balanced load; at 120/240 of one between the legs
    line_line: tuple[Place, ...]
    line_neutral: tuple[Place, ...]


def _unit(angle: float) -> complex:
    return cmath.rect(1.0, angle)


def _system(
    name: str, volts: Mapping[str, complex], line_volts: float, feet: Iterable[str]
) -> System:
    """A system from its line phasors to neutral; ``feet`` are the lines that may serve 120 V."""
    lines = tuple(volts)
    star = sum(volts.values()) / len(volts)
    balanced = [_unit(cmath.phase(volt - star)) for volt in volts.values()]
    pairs = [(a, b) for n, a in enumerate(lines) for b in lines[n + 1 :]]
    return System(
        name, lines, line_volts, _three(balanced),
        tuple(_between(lines, a, b, volts) for a, b in pairs),
        tuple(_to_neutral(lines, a, volts) for a in feet),
    )  # fmt: skip


def _three(values: list[complex]) -> Currents:
    first, second, *third = values
    return first, second, third[0] if third else 0j


def _between(lines: tuple[str, ...], a: str, b: str, volts: Mapping[str, complex]) -> Place:
    current = _unit(cmath.phase(volts[a] - volts[b]))
    unit = [current if line == a else -current if line == b else 0j for line in lines]
    return Place(f"{a}-{b}", _three(unit), 0j, 0j)


def _to_neutral(lines: tuple[str, ...], a: str, volts: Mapping[str, complex]) -> Place:
    angle = cmath.phase(volts[a])
    unit = [_unit(angle) if line == a else 0j for line in lines]
    return Place(a, _three(unit), _unit(angle), _unit(3 * angle))


def _wye(name: str, line_volts: float) -> System:
    volts = {
        line: cmath.rect(line_volts / math.sqrt(3), -n * 2 * math.pi / 3)
        for n, line in enumerate("ABC")
    }
    return _system(name, volts, line_volts, "ABC")


def high_leg_volts(line_volts: float) -> float:
    """Return the voltage of the high leg to neutral on a delta with one coil's middle grounded.

    Equation: V = sqrt(V_LL^2 - (V_LL / 2)^2).

    Parameters
    ----------
    line_volts : float
        Line-to-line voltage V_LL [V]

    Returns
    -------
    float
        High leg to neutral [V]

    Raises
    ------
    ValueError
        The voltage is negative.

    Notes
    -----
    Equipment for 120 V is destroyed there: no place of this system puts it there.

    Source: geometry of the delta.

    Examples
    --------
    >>> round(high_leg_volts(240.0), 2)
    207.85
    """
    if line_volts < 0:
        raise ValueError("a voltage cannot be negative")
    return math.sqrt(line_volts**2 - (line_volts / 2) ** 2)


SYSTEMS: Mapping[str, System] = {
    "208Y/120": _wye("208Y/120", 208.0),
    "480Y/277": _wye("480Y/277", 480.0),
    "120/240": _system("120/240", {"L1": 120 + 0j, "L2": -120 + 0j}, 240.0, ("L1", "L2")),
    "240/120": _system(
        "240/120",
        {"A": 120 + 0j, "B": complex(0, -high_leg_volts(240.0)), "C": -120 + 0j},
        240.0,
        "AC",  # B is the high leg
    ),
}
