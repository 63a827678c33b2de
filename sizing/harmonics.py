"""Chapter 8: currents with harmonics, and how uneven a set of phases is."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence


def unbalance_percent(values: Sequence[float]) -> float:
    """Return how uneven three voltages or currents are.

    Equation: u = 100 max|x - mean| / mean.

    Parameters
    ----------
    values : sequence of float
        Magnitudes of the phases, at least one [V or A]

    Returns
    -------
    float
        Largest absolute deviation from the mean over the mean; 0 where all are 0 [%]

    Raises
    ------
    ZeroDivisionError
        There are no values.

    Notes
    -----
    The largest deviation either way: not the highest phase only, and not highest less lowest.

    Source: NEMA MG 1 definition, as in Hubert, Electric Machines, ex. 5.14 (read).

    Examples
    --------
    >>> round(unbalance_percent([460.0, 455.0, 440.0]), 2)
    2.58
    """
    mean = sum(values) / len(values)
    return 100 * max(abs(value - mean) for value in values) / mean if mean else 0.0


def harmonic_amps(spectrum: Mapping[int, float]) -> tuple[float, float]:
    """Return phase and neutral current of three equal phases with harmonics.

    Equation: I_phase = sqrt(sum I_h^2); I_neutral = 3 sqrt(sum I_h^2 over multiples of 3).

    Parameters
    ----------
    spectrum : mapping of int to float
        Order of the harmonic to its current in each phase [A]

    Returns
    -------
    tuple of float
        Phase current and neutral current [A]

    Raises
    ------
    TypeError
        A current is no number.

    Notes
    -----
    Balanced fundamentals and the other orders cancel in the neutral; multiples of 3 add up.

    Source: Masters, Renewable and Efficient Electric Power Systems, ex. 2.13 (read).

    Examples
    --------
    >>> phase, neutral = harmonic_amps({1: 100, 3: 50, 5: 20, 7: 10, 9: 8, 11: 4, 13: 2})
    >>> round(phase, 2), round(neutral, 2)
    (114.39, 151.91)
    """
    phase = math.hypot(*spectrum.values())
    return phase, 3 * math.hypot(*(amps for order, amps in spectrum.items() if order % 3 == 0))


def wye_neutral_amps(a: float, b: float, c: float) -> float:
    """Return the neutral current of three phase currents of equal power factor.

    Equation: I_n = sqrt(a^2 + b^2 + c^2 - ab - bc - ca).

    Parameters
    ----------
    a, b, c : float
        Phase currents [A]

    Returns
    -------
    float
        Neutral current [A]

    Raises
    ------
    TypeError
        A current is no number.

    Notes
    -----
    Source: Mehta, Principles of Power System, ex. 14.7 (read).

    Examples
    --------
    >>> round(wye_neutral_amps(43.3, 34.6, 21.65), 1)
    18.9
    """
    return math.sqrt(max(a * a + b * b + c * c - a * b - b * c - c * a, 0.0))
