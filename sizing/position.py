"""Chapter 7: what a set gives at a selector position, in kilovolt-amperes and amperes."""

from __future__ import annotations

import math

from sizing.fleet import GeneratorSet
from sizing.limits import limit

LINE_VOLTS = {"120/240": 240.0, "208Y/120": 208.0, "480Y/277": 480.0, "240/120": 240.0}
SQRT3 = math.sqrt(3)


def single_phase_kva(set_: GeneratorSet) -> float:
    """Return what a set gives at 120/240 at reference conditions [kVA].

    Equation: S1 = record, else S3 / sqrt(3).

    Parameters
    ----------
    set_ : GeneratorSet
        The set's own record [-]

    Returns
    -------
    float
        Single-phase rating [kVA]

    Raises
    ------
    TableRefused
        The table of limits is damaged.

    Notes
    -----
    Conservative: two sources print 0.577 and 0.667; without a record the lower one holds.

    Source: selection_limits, row single_phase_share; never above 2/3 (see ``fleet``).

    Examples
    --------
    A 75 kVA reconnectable set without a record gives 43.3 kVA.
    """
    return set_.single_phase_kva or limit("single_phase_share").value / 100 * set_.prime_kva


def rated_amps(set_: GeneratorSet, supply: str, alternator_factor: float = 1.0) -> float:
    """Return the rated line current at a selector position [A].

    Equation: I = f S3 1000 / (sqrt(3) V) on three phases, I = f S1 1000 / 240 on one.

    Parameters
    ----------
    set_ : GeneratorSet
        The set's own record [-]
    supply : str
        One of ``SUPPLIES`` [-]
    alternator_factor : float
        Share left at the site, 0 to 1 [-]

    Returns
    -------
    float
        Rated line current at the site [A]

    Raises
    ------
    KeyError
        ``supply`` is not a known system.

    Notes
    -----
    Source: definition of apparent power; ANSI C84.1 nominal voltages.

    Examples
    --------
    100 kW at 0.8 power factor and 480 V: 150.4 A.
    """
    if supply == "120/240":
        return alternator_factor * single_phase_kva(set_) * 1000 / LINE_VOLTS[supply]
    return alternator_factor * set_.prime_kva * 1000 / (SQRT3 * LINE_VOLTS[supply])
