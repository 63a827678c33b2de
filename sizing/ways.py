"""Chapter 2, carried through: the ways to serve loads of two voltages, each as demands to size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from sizing.demand import Demand, demand_of
from sizing.finding import Finding
from sizing.nameplate import LoadDemand, load_demand
from sizing.position import LINE_VOLTS, SQRT3
from sizing.requirement import SUPPLIES, Requirement
from sizing.step import Step
from sizing.supply import StepDown, SupplyPlan, suits
from sizing.trace import Trace

DIRECT, TRANSFORMER, TWO_SETS, RECEPTACLES = "direct", "transformer", "two_sets", "receptacles"
INRUSH_POWER_FACTOR = 0.1  # magnetising current; common practice, no source


class Way(NamedTuple):
    """One way to serve all loads: its name and what it asks, one demand a supply."""

    name: str
    demands: tuple[Demand, ...]
    findings: tuple[Finding, ...] = ()


def ways(
    requirement: Requirement,
    plan: SupplyPlan,
    system: str,
    loads: Sequence[LoadDemand],
    trace: Trace | None = None,
) -> tuple[Way, ...]:
    """Return the ways to serve the loads, in the order of the supply plan.

    Parameters
    ----------
    requirement : Requirement
        A resolved requirement [-]
    plan : SupplyPlan
        Names the ways and the transformer [-]
    system : str
        The main supply [-]
    loads : sequence of LoadDemand
        The loads as read at the main supply, at least one [-]
    trace : Trace, optional
        Takes the lines of the first way where given [-]

    Returns
    -------
    tuple of Way
        At least one where there is a load [-]

    Raises
    ------
    OutsideTable
        A figure lies outside a table that has no rule for it.
    SequenceRefused
        Loads wait for each other in a circle.
    """
    named = [name for name in plan.options if name in BUILDERS] or [DIRECT]
    found: list[Way] = []
    for name in named:
        groups = BUILDERS[name](requirement, system, loads)
        if groups:
            line = trace if not found else None
            found.append(_way(name, requirement, groups, plan.step_down, line))
    return tuple(found) or (_way(DIRECT, requirement, {system: list(loads)}, None, trace),)


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


def with_inrush(demand: Demand, step_down: StepDown) -> Demand:
    """Return a demand with one step more: its transformer energised before all loads.

    Parameters
    ----------
    demand : Demand
        What the loads ask, those behind the transformer included [-]
    step_down : StepDown
        The transformer: inrush [kVA] and losses [kW]

    Returns
    -------
    Demand
        The same with the step among the others, and the transformer named [-]

    Raises
    ------
    AttributeError
        An argument is of another kind.

    Notes
    -----
    Nothing else runs in that moment; the inrush is met at full voltage, which is conservative.
    """
    kva = step_down.inrush_kva
    kw = max(INRUSH_POWER_FACTOR * kva, step_down.losses_kw)
    step = Step(
        "Step-down transformer", (), (), kva, kw, kw / kva, 0.0, 0.0, step_down.losses_kw,
        None, (),
    )  # fmt: skip
    order = replace(demand.sequence, steps=(*demand.sequence.steps, step))
    return replace(demand, sequence=order, steps=(*demand.steps, step), step_down=step_down)


Groups = dict[str, list[LoadDemand]]


def _direct(requirement: Requirement, system: str, loads: Sequence[LoadDemand]) -> Groups:
    """All loads on the main supply, those of another voltage behind a transformer."""
    return {system: list(loads)}


def _two_sets(requirement: Requirement, system: str, loads: Sequence[LoadDemand]) -> Groups:
    """Each load on a supply that carries it; empty where the main supply would carry none."""
    others = own_supplies(requirement, system)
    groups = {system: [load for load in loads if load.index not in others]}
    for index, supply in others.items():
        load, _ = load_demand(requirement.loads[index], index, supply)
        groups.setdefault(supply, []).extend([load] if load is not None else [])
    return {} if not groups[system] else {s: mine for s, mine in groups.items() if mine}


def _receptacles(requirement: Requirement, system: str, loads: Sequence[LoadDemand]) -> Groups:
    """Small 120 V loads on receptacles that live apart from the selector."""
    others = own_supplies(requirement, system)
    return {system: [_plugged(requirement, system, load, load.index in others) for load in loads]}


def _plugged(requirement: Requirement, system: str, load: LoadDemand, is_other: bool) -> LoadDemand:
    """The load at 120 V, its current counted on one line of the main supply."""
    if not is_other:
        return load
    small, _ = load_demand(requirement.loads[load.index], load.index, "120/240")
    assert small is not None, "the plan offers receptacles only where 120/240 carries the load"
    volts = LINE_VOLTS[system] / SQRT3
    amps = small.running_kva * 1000 / volts
    return replace(small, supply=system, via=RECEPTACLES, volts=volts, amps=amps)


BUILDERS = {
    DIRECT: _direct,
    TRANSFORMER: _direct,
    TWO_SETS: _two_sets,
    RECEPTACLES: _receptacles,
}


def _way(
    name: str,
    requirement: Requirement,
    groups: Groups,
    step_down: StepDown | None,
    trace: Trace | None,
) -> Way:
    demands, findings = [], []
    for supply, mine in groups.items():
        demand, doubts = demand_of(requirement, supply, mine, trace)
        demands.append(demand)
        findings += doubts
    if name == TRANSFORMER and step_down is not None:
        demands = [with_inrush(demands[0], step_down)]
    return Way(name, tuple(demands), tuple(findings))
