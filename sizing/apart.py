"""Chapter 2, carried through: loads that the main supply does not carry, on one of their own."""

from __future__ import annotations

from collections.abc import Sequence

from sizing.demand import Demand, demand_of
from sizing.finding import Finding
from sizing.nameplate import LoadDemand, load_demand
from sizing.requirement import SUPPLIES, Requirement
from sizing.supply import suits


def own_supplies(requirement: Requirement, system: str) -> dict[int, str]:
    """Return for each load that the main supply does not carry the supply that does.

    Parameters
    ----------
    requirement : Requirement
        A resolved requirement [-]
    system : str
        The main supply [-]

    Returns
    -------
    dict of int to str
        Index of the load to its supply; a load that no supply carries is missing [-]

    Raises
    ------
    KeyError
        A load's kind is not known.
    """
    found = {}
    for index, load in enumerate(requirement.loads):
        carried = [s for s in SUPPLIES if suits(load.nameplate, load.kind, s).carried]
        if carried and system not in carried:
            found[index] = carried[0]
    return found


def demands_apart(
    requirement: Requirement, system: str, loads: Sequence[LoadDemand]
) -> tuple[list[Demand], list[Finding]]:
    """Return one demand a supply, each load on a supply that carries it.

    Parameters
    ----------
    requirement : Requirement
        A resolved requirement [-]
    system : str
        The main supply [-]
    loads : sequence of LoadDemand
        The loads as read at the main supply [-]

    Returns
    -------
    tuple of list of Demand and list of Finding
        Empty where one supply carries all, or where the main supply carries none [-]

    Raises
    ------
    OutsideTable
        A figure lies outside a table that has no rule for it.
    """
    others = own_supplies(requirement, system)
    groups = {system: [load for load in loads if load.index not in others]}
    if not others or not groups[system]:
        return [], []
    findings: list[Finding] = []
    for index, supply in others.items():
        load, doubts = load_demand(requirement.loads[index], index, supply)
        findings += doubts
        groups.setdefault(supply, []).extend([load] if load is not None else [])
    demands = [demand_of(requirement, s, mine) for s, mine in groups.items() if mine]
    return [demand for demand, _ in demands], findings
