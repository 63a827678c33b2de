"""Chapter 10: what protects the leads, and the conductor that carries a fault home."""

from __future__ import annotations

import math

from sizing.fleet import GeneratorSet
from sizing.tables import table
from sizing.voltage_drop import SQRT3, is_single_phase, line_volts


def next_rating_a(amps: float) -> float:
    """Smallest standard rating of a fuse or breaker not under a current [A].

    Parameters
    ----------
    amps : float
        Current [A], up to 6,000

    Returns
    -------
    float
        Standard rating [A]

    Raises
    ------
    OutsideTable
        Above the largest standard rating.

    Examples
    --------
    >>> next_rating_a(187.5), next_rating_a(200)
    (200.0, 200.0)

    Source: NEC 2023, table 240.6(A).
    """
    return float(table("standard_protection").at_least(amps)["rating_a"])


def most_protection_a(ampacity_a: float) -> float:
    """Largest breaker that still protects leads of an ampacity [A].

    The next standard rating up to 800 A, above that the next one down.

    Parameters
    ----------
    ampacity_a : float
        Ampacity of all runs [A], 10 or more

    Returns
    -------
    float
        Standard rating [A]

    Raises
    ------
    OutsideTable
        No standard rating is so small or so large.

    Examples
    --------
    >>> most_protection_a(277), most_protection_a(831)
    (300.0, 800.0)

    Source: NEC 2023, 240.4(B) and (C).
    """
    limit = float(table("lead_rules").at("value", "next_size_up_to"))
    upper = next_rating_a(ampacity_a)
    if ampacity_a <= limit or upper == ampacity_a:
        return upper
    return float(max(r for r in table("standard_protection").column("rating_a") if r <= ampacity_a))


def set_line_amps(set_: GeneratorSet, system: str) -> float:
    """Plate current of a set at a selector position [A].

    I = 1000 S/(sqrt(3) V) on three phases, 1000 S1/V on the single-phase system.

    Parameters
    ----------
    set_ : GeneratorSet
        Its prime kVA, and its single-phase kVA where the record has it [-]
    system : str
        One of ``SUPPLIES`` [-]

    Returns
    -------
    float
        Current [A]

    Raises
    ------
    ValueError
        The system is no such notation.

    Notes
    -----
    Without a single-phase rating the three-phase line current counts: S/sqrt(3) on one pair.

    Source: definition of apparent power.
    """
    volts = line_volts(system)
    if is_single_phase(system) and set_.single_phase_kva:
        return 1000 * set_.single_phase_kva / volts
    return 1000 * set_.prime_kva / (SQRT3 * volts)


def set_conductor_amps(set_: GeneratorSet, system: str) -> float:
    """What conductors from the set to the first breaker must carry [A]: 115 % of plate current.

    Parameters
    ----------
    set_ : GeneratorSet
        The set [-]
    system : str
        One of ``SUPPLIES`` [-]

    Returns
    -------
    float
        Ampacity needed [A]

    Raises
    ------
    ValueError
        The system is no such notation.

    Source: NEC 2023, 445.13(A).
    """
    share = float(table("lead_rules").at("value", "set_conductors")) / 100
    return share * set_line_amps(set_, system)


def protection_needed_a(set_: GeneratorSet, system: str) -> float:
    """What leads at a set's terminals must be fit for [A].

    With a main breaker its rating; without one, 115 % of the plate current.

    Parameters
    ----------
    set_ : GeneratorSet
        The set [-]
    system : str
        One of ``SUPPLIES`` [-]

    Returns
    -------
    float
        Rating the leads must be fit for [A]

    Raises
    ------
    ValueError
        The system is no such notation.

    Source: NEC 2023, 240.4 and 445.13(A).
    """
    return set_.main_breaker_a or set_conductor_amps(set_, system)


def grounding_size(protection_a: float, enlarged: float = 1.0) -> str:
    """Copper equipment grounding conductor for a protection [AWG or kcmil].

    By table; where the phases were enlarged for voltage drop, enlarged in the same proportion of
    area.

    Parameters
    ----------
    protection_a : float
        Rating of fuse or breaker [A], up to 6,000
    enlarged : float
        Area of the chosen phase conductor over the least that carries the current, 1 or more [-]

    Returns
    -------
    str
        Size as stamped [-]

    Raises
    ------
    OutsideTable
        Above the table.

    Examples
    --------
    >>> grounding_size(200), grounding_size(200, 2.0)
    ('6', '3')

    Source: NEC 2023, table 250.122 and 250.122(B).
    """
    size = str(table("grounding_conductor").at_least(protection_a)["size"])
    areas = table("conductor_resistance")
    wanted = areas.at("area_cmil", size) * enlarged
    for row in areas.rows:
        if row["area_cmil"] is not None and row["area_cmil"] >= math.floor(wanted):
            return str(row["size"])
    return size
