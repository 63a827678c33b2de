"""Chapter 10: voltage drop along leads, by resistance and reactance."""

from __future__ import annotations

import math
import re

from sizing.conversions import FOOT_M

SQRT3 = math.sqrt(3)
KFT_M = 1000 * FOOT_M


def line_volts(system: str) -> float:
    """Voltage between lines of a system in C84.1 notation [V].

    Parameters
    ----------
    system : str
        One of ``SUPPLIES`` [-]

    Returns
    -------
    float
        The larger of its two voltages [V]

    Raises
    ------
    ValueError
        Not such a notation.

    Examples
    --------
    >>> line_volts("480Y/277"), line_volts("120/240")
    (480.0, 240.0)

    Source: ANSI C84.1, nominal system voltages.
    """
    return max(float(part) for part in re.split("Y?/", system))


def is_single_phase(system: str) -> bool:
    """Whether the system is the three-wire single-phase one.

    Parameters
    ----------
    system : str
        One of ``SUPPLIES`` [-]

    Returns
    -------
    bool
        True for 120/240 [-]

    Raises
    ------
    TypeError
        Not a text.

    Source: ANSI C84.1.
    """
    return system == "120/240"


def effective_impedance(resistance: float, reactance: float, power_factor: float) -> float:
    """Impedance that a lagging current meets, per length: Ze = R cos(phi) + X sin(phi).

    Parameters
    ----------
    resistance, reactance : float
        R and X of one conductor [ohm per any length]
    power_factor : float
        cos(phi) of the load, 0 to 1 [-]

    Returns
    -------
    float
        Ze, line to neutral, in the unit of R and X [ohm per the same length]

    Raises
    ------
    ValueError
        The power factor is above 1.

    Notes
    -----
    The first-order form: within a hundredth of the exact drop as long as the drop is small.

    Examples
    --------
    >>> round(effective_impedance(0.054, 0.052, 0.85), 4)
    0.0733

    Source: NEC Chapter 9 Table 9, note 2.
    """
    return resistance * power_factor + reactance * math.sqrt(1 - power_factor**2)


def voltage_drop_v(
    amps: float, impedance_ohm_per_kft: float, length_m: float, system: str
) -> float:
    """Drop between lines at the far end [V].

    Vd = sqrt(3) I Ze L on three phases, Vd = 2 I Ze L on the single-phase system.

    Parameters
    ----------
    amps : float
        Current of one conductor [A], 0 or more
    impedance_ohm_per_kft : float
        Ze [ohm per 1000 ft]
    length_m : float
        One way [m], 0 or more
    system : str
        One of ``SUPPLIES`` [-]

    Returns
    -------
    float
        Drop [V]

    Raises
    ------
    TypeError
        Not numbers.

    Notes
    -----
    The current of the worst line is taken for all lines. What the neutral of unbalanced loads
    adds between line and neutral is left out.

    Examples
    --------
    >>> round(voltage_drop_v(65, 0.11345, 304.8, "480Y/277"), 2)
    12.77

    Source: NEC Chapter 9 Table 9, note 2; UFC 3-520-01, appendix B.
    """
    loop = 2.0 if is_single_phase(system) else SQRT3
    return loop * amps * impedance_ohm_per_kft * length_m / KFT_M


def voltage_drop_percent(
    amps: float, impedance_ohm_per_kft: float, length_m: float, system: str
) -> float:
    """Drop at the far end [% of the voltage between lines].

    Parameters
    ----------
    amps : float
        Current of one conductor [A]
    impedance_ohm_per_kft : float
        Ze [ohm per 1000 ft]
    length_m : float
        One way [m]
    system : str
        One of ``SUPPLIES`` [-]

    Returns
    -------
    float
        100 Vd/V [%]

    Raises
    ------
    ValueError
        The system is no such notation.

    Source: UFC 3-520-01, appendix B.
    """
    drop_v = voltage_drop_v(amps, impedance_ohm_per_kft, length_m, system)
    return 100 * drop_v / line_volts(system)
