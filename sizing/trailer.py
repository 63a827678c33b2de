"""Chapter 9: receptacle load of an office trailer, where its panel is not known."""

from __future__ import annotations

from sizing.tables import table


def _rule(name: str) -> float:
    return float(table("receptacle_load").at("value", name))


def receptacle_load_va(outlets: int) -> float:
    """Load of general receptacle outlets [VA]: 180 VA each.

    Parameters
    ----------
    outlets : int
        Single or duplex receptacles on one yoke, 0 or more [-]

    Returns
    -------
    float
        Connected load [VA]

    Raises
    ------
    TableRefused
        The table is damaged.

    Examples
    --------
    >>> receptacle_load_va(8)
    1440.0

    Source: NEC 2023, 220.14(I).
    """
    return outlets * _rule("per_outlet")


def receptacle_demand_va(connected_va: float) -> float:
    """Demand of receptacles in other than dwellings [VA].

    The first 10 kVA in full, the rest by half.

    Parameters
    ----------
    connected_va : float
        Connected load, 0 or more [VA]

    Returns
    -------
    float
        Demand [VA]

    Raises
    ------
    TableRefused
        The table is damaged.

    Examples
    --------
    >>> receptacle_demand_va(20160.0), receptacle_demand_va(1440.0)
    (15080.0, 1440.0)

    Source: NEC 2023, table 220.47 (220.44 in editions before).
    """
    first_va = _rule("first")
    return min(connected_va, first_va) + max(0.0, connected_va - first_va) * _rule("rest") / 100
