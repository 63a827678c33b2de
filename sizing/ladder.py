"""Chapter 5, underneath: voltages along a set, its lines and its loads as complex impedances."""

from __future__ import annotations

from collections.abc import Sequence as Ordered
from typing import NamedTuple

from sizing.step import Step


class Section(NamedTuple):
    """A series impedance and the load admittance at its far end, both per unit."""

    series_pu: complex
    load_pu: complex = 0j


def parallel_rx(resistance_pu: float, reactance_pu: float) -> complex:
    """Return the admittance of a resistance and a reactance side by side.

    Equation: Y = 1/R - j/X.

    Parameters
    ----------
    resistance_pu : float
        R, not 0 [pu]
    reactance_pu : float
        X, not 0 [pu]

    Returns
    -------
    complex
        Admittance Y [pu]

    Raises
    ------
    ZeroDivisionError
        A part is 0.

    Notes
    -----
    Source: circuit theory.

    Examples
    --------
    >>> parallel_rx(2.0, 4.0)
    (0.5-0.25j)
    """
    return complex(1 / resistance_pu, -1 / reactance_pu)


def ladder_voltages(sections: Ordered[Section], first_voltage_pu: complex = 1) -> list[complex]:
    """Return the voltage at each load of a ladder whose first load sits at a known voltage.

    Equation: V[n] = V[n-1] / (1 + Z[n] Y[n]), with Y[n] looking in from bus n.

    Parameters
    ----------
    sections : sequence of Section
        From the set outwards, at least one; the first section's series impedance is the set's [pu]
    first_voltage_pu : complex
        Voltage at the first load [pu]

    Returns
    -------
    list of complex
        Voltage at each load [pu]

    Raises
    ------
    IndexError
        There is no section.
    ZeroDivisionError
        A section resonates.

    Notes
    -----
    Loads are constant impedances.

    Source: circuit theory.
    """
    looking_in = _looking_in(sections)
    voltages = [complex(first_voltage_pu)]
    for section, admittance in zip(sections[1:], looking_in[1:], strict=True):
        voltages.append(voltages[-1] / (1 + section.series_pu * admittance))
    return voltages


def ladder_dip(before: Ordered[Section], after: Ordered[Section]) -> list[complex]:
    """Return the voltage at each load right after a change, the first load at 1 before it.

    Equation: E = 1 + Zg Y_before; V[0] = E / (1 + Zg Y_after); the rest as `ladder_voltages`.

    Parameters
    ----------
    before : sequence of Section
        The ladder before the change, the set's impedance in its first section [pu]
    after : sequence of Section
        The ladder after the change, of the same length [pu]

    Returns
    -------
    list of complex
        Voltage at each load after the change [pu of the set's voltage before it]

    Raises
    ------
    IndexError
        There is no section.
    ZeroDivisionError
        A section resonates.

    Notes
    -----
    The electromotive force behind the set's transient impedance holds through the first instant;
    the regulator has brought the first load to 1 before it.

    Source: Sheldrake, Handbook of Electrical Engineering, Appendix G (read).
    """
    source = before[0].series_pu
    force = 1 + source * _looking_in(before)[0]
    return ladder_voltages(after, force / (1 + source * _looking_in(after)[0]))


def _looking_in(sections: Ordered[Section]) -> list[complex]:
    """Admittance seen at each load, outwards [pu]."""
    seen: list[complex] = []
    beyond = 0j
    for section in reversed(sections):
        here = section.load_pu + beyond
        seen.append(here)
        beyond = here / (1 + section.series_pu * here)
    return seen[::-1]


def voltage_lost(step: Step, source_pu: complex, base_kva: float, *, alone: bool = False) -> float:
    """Return the share of its voltage that a set loses in the first instant of a step.

    Equation: dip = 1 - |(1 + Z Yr) / (1 + Z (Yr + Ys))|, Y = (P - jQ) / S_set.

    Parameters
    ----------
    step : Step
        What starts and what runs [kVA, kW]
    source_pu : complex
        Transient impedance Z of the set, mostly j X'd [pu on its own base]
    base_kva : float
        Rating of the set S_set, above 0 [kVA]
    alone : bool
        Whether what runs beside the start is off in that moment, Yr = 0 [-]

    Returns
    -------
    float
        Share of the voltage before the step, 0 to 1 [-]

    Raises
    ------
    ZeroDivisionError
        ``base_kva`` is 0.

    Notes
    -----
    The ladder of one load: a load already running holds the electromotive force higher and so
    lessens the dip a little. Running motors feed back at first: left out, conservative.

    Source: Sheldrake, Handbook of Electrical Engineering, Appendix G (read).
    """
    cosine = step.start_power_factor
    sine = (1 - cosine * cosine) ** 0.5 if cosine < 1 else 0.0
    kva = step.dip_kva
    before = 1 + 0j
    if not alone:
        before += source_pu * complex(step.before_kw, -step.before_kvar) / base_kva
    after = before + source_pu * complex(kva * cosine, -kva * sine) / base_kva
    return max(0.0, 1 - abs(before) / abs(after))
