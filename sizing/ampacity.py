"""Chapter 10: what a lead carries where it lies, and what it opposes to the current."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

from sizing.errors import OutsideTable
from sizing.tables import table

CORD, SINGLE = "cord", "single"
TEMPERATURE = {CORD: "at_60c", SINGLE: "at_75c"}  # column of the correction for each make
COOLEST_FACTOR = 1.0  # a cool day is not counted in a lead's favour


class LeadSize(NamedTuple):
    """One size of lead as kept for hire: ``make`` is ``cord`` or ``single``."""

    size: str
    make: str
    parallel: bool
    base_a: float  # three current-carrying conductors together, 30 degC
    resistance_ohm_per_kft: float
    reactance_ohm_per_kft: float
    area_cmil: float


@lru_cache(maxsize=1)
def lead_sizes() -> tuple[LeadSize, ...]:
    """Sizes kept for hire, smallest first.

    Returns
    -------
    tuple of LeadSize, shape (n,)
        Ampacity [A], resistance and reactance [ohm per 1000 ft] of each [-]

    Raises
    ------
    TableRefused
        A size is missing from one of the tables.

    Notes
    -----
    Ampacity: cords by their own table, single conductors by the column of *three* conductors in
    one jacket at 75 degC, since leads on the ground lie together and end on 75 degC lugs; the
    column for single conductors in free air would allow up to 30 % more and does not hold there.
    Resistance: the larger of direct-current and alternating-current table, whose last digits
    differ. Reactance: non-magnetic surroundings.

    Source: NEC 2023 tables 400.5(A)(1), 400.5(A)(2) and Chapter 9 tables 8 and 9.
    """
    return tuple(_lead_size(r["size"], r["make"], r["parallel"]) for r in table("lead_stock").rows)


def _lead_size(size: str, make: str, parallel: str) -> LeadSize:
    dc, ac = table("conductor_resistance").row(size), table("conductor_impedance").row(size)
    return LeadSize(
        size,
        make,
        parallel == "yes",
        base_ampacity_a(size, make),
        max(dc["copper_ohm_per_kft"], ac["resistance_pvc_ohm_per_kft"]),
        ac["reactance_pvc_ohm_per_kft"],
        dc["area_cmil"],
    )


def base_ampacity_a(size: str, make: str) -> float:
    """Ampacity of three current-carrying conductors together at 30 degC [A].

    Parameters
    ----------
    size : str
        AWG or kcmil as stamped [-]
    make : str
        ``cord`` or ``single`` [-]

    Returns
    -------
    float
        Ampacity [A]

    Raises
    ------
    TableRefused
        The table holds no such size.

    Examples
    --------
    >>> base_ampacity_a("4/0", "single"), base_ampacity_a("6", "cord")
    (277.0, 45.0)

    Source: NEC 2023, 400.5(A)(1) column A; 400.5(A)(2) column F, 75 degC.
    """
    if make == CORD:
        return float(table("flexible_cord").at("three_a", size))
    return float(table("portable_cable").at("three_75c_a", size))


@lru_cache(maxsize=512)
def ambient_factor(ambient_c: float, make: str) -> float:
    """What is left of a lead's ampacity in the heat [-], never above 1.

    Parameters
    ----------
    ambient_c : float
        Air at the leads [degC], up to 55 for cords and 70 for single conductors
    make : str
        ``cord`` (60 degC column) or ``single`` (75 degC column) [-]

    Returns
    -------
    float
        Factor, 0.33 to 1 [-]

    Raises
    ------
    OutsideTable
        Hotter than the table goes.

    Notes
    -----
    Leads in the sun run hotter than the air; the air's temperature is what is asked for. Factors
    above 1 for cool air are not used.

    Examples
    --------
    >>> ambient_factor(40, "single"), ambient_factor(5, "single")
    (0.88, 1.0)

    Source: NEC 2023, table 310.15(B)(1)(1), by 400.5(A).
    """
    column = TEMPERATURE[make]
    factor = table("ambient_correction").at_least(ambient_c)[column]
    if factor is None:
        hottest = max(r["ambient_up_to_c"] for r in table("ambient_correction").rows if r[column])
        raise OutsideTable("ambient_correction", ambient_c, 10.0, hottest, "degC")
    return min(COOLEST_FACTOR, float(factor))


def bundle_factor(current_carrying: int) -> float:
    """What is left of a lead's ampacity with more than three loaded conductors together [-].

    Parameters
    ----------
    current_carrying : int
        Conductors that carry current in the one cable or bundle, 1 or more [-]

    Returns
    -------
    float
        Factor, 0.35 to 1 [-]

    Raises
    ------
    TypeError
        Not a number.

    Notes
    -----
    A neutral counts where it carries more than the unbalance, as with electronic loads.

    Examples
    --------
    >>> bundle_factor(3), bundle_factor(4), bundle_factor(12)
    (1.0, 0.8, 0.5)

    Source: NEC 2023, table 400.5(A)(3).
    """
    rows = [r for r in table("cord_adjustment").rows if r["conductors_from"] <= current_carrying]
    return float(rows[-1]["percent"]) / 100 if rows else 1.0


def run_ampacity_a(lead: LeadSize, ambient_c: float, current_carrying: int = 3) -> float:
    """What one run carries at the site [A]: base x heat x bundle.

    Parameters
    ----------
    lead : LeadSize
        Size and make [-]
    ambient_c : float
        Air at the leads [degC]
    current_carrying : int
        Loaded conductors of the run, 3, or 4 with a loaded neutral [-]

    Returns
    -------
    float
        Ampacity [A]

    Raises
    ------
    OutsideTable
        Hotter than the table goes.

    Source: NEC 2023, 400.5(A).
    """
    return lead.base_a * ambient_factor(ambient_c, lead.make) * bundle_factor(current_carrying)
