"""What a job asks of any set: chapters 1 to 4, 8, 9 and 10, before a set is chosen."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from sizing.duty import DutyProfile, duty_profile
from sizing.finding import Finding
from sizing.leads import Leads, leads
from sizing.nameplate import LoadDemand, load_demand
from sizing.phases import PhaseSpread, spread
from sizing.requirement import Requirement
from sizing.sequence import Sequence, sequence
from sizing.starting import StartDemand, start_demand
from sizing.step import Step
from sizing.supply import StepDown
from sizing.trace import Trace
from sizing.withstand import tightest


@dataclass(frozen=True, slots=True)
class Demand:
    """Everything that does not depend on the set, for the loads that take one supply.

    ``steps`` are the moments most likely to decide the voltage dip. ``leads`` is ``None`` where
    nothing is to be led.
    """

    supply: str
    loads: tuple[LoadDemand, ...]
    starts: tuple[StartDemand, ...]
    sequence: Sequence
    steps: tuple[Step, ...]
    spread: PhaseSpread
    profile: DutyProfile
    leads: Leads | None
    step_down: StepDown | None = None
    line_amps: float = field(init=False)  # current of the worst line
    nonlinear_kva: float = field(init=False)  # of rectifiers, drives and the like
    on_receptacles: bool = field(init=False)  # some load hangs on the set's 120 V receptacles
    float_switched: bool = field(init=False)  # some load calls the set by a float switch

    def __post_init__(self) -> None:
        """Count once what every set of a fleet is held against."""
        loads = self.loads
        nonlinear_kva = sum(d.quantity * d.demand_factor * d.nonlinear_kva for d in loads)
        object.__setattr__(self, "line_amps", max(self.spread.phase_amps))
        object.__setattr__(self, "nonlinear_kva", nonlinear_kva)
        object.__setattr__(self, "on_receptacles", any(d.via == "receptacles" for d in loads))
        object.__setattr__(self, "float_switched", any(d.float_switch for d in loads))

    @property
    def hardest_step(self) -> Step:
        """The step that asks most kilowatts of the engine."""
        return self.sequence.worst_kw_step or self.sequence.worst

    @property
    def engine_steps(self) -> tuple[Step, ...]:
        """The steps of which one asks most of any engine."""
        return self.sequence.engine_steps or (self.hardest_step,)

    @property
    def neutral_amps(self) -> float:
        """Neutral current, fundamental and third harmonic as root of squares [A]."""
        return math.hypot(self.spread.neutral_amps, self.spread.third_harmonic_amps)

    @property
    def power_factor(self) -> float:
        """Power factor of the whole running load [-]."""
        peak = self.sequence
        return peak.peak_kw / peak.peak_kva if peak.peak_kva else 1.0


def read_loads(
    requirement: Requirement, system: str, trace: Trace | None = None
) -> tuple[list[LoadDemand], list[Finding]]:
    """Return the running demand of every load at one system, and the doubts met on the way.

    Parameters
    ----------
    requirement : Requirement
        A resolved requirement: every band without width [-]
    system : str
        One of ``SUPPLIES`` [-]
    trace : Trace, optional
        Takes one line a step where given [-]

    Returns
    -------
    tuple of list of LoadDemand and list of Finding
        Loads that can be served, in the order of the requirement; a load that cannot is missing
        and named by a finding [-]

    Raises
    ------
    TableRefused
        A table is asked for a key that it does not hold.
    """
    loads: list[LoadDemand] = []
    findings: list[Finding] = []
    for index, load in enumerate(requirement.loads):
        demand, doubts = load_demand(load, index, system, trace)
        findings += doubts
        if demand is not None:
            loads.append(demand)
    return loads, findings


def demand_of(
    requirement: Requirement,
    supply: str,
    loads: Iterable[LoadDemand],
    trace: Trace | None = None,
) -> tuple[Demand, list[Finding]]:
    """Return what these loads ask of a set at this supply.

    Parameters
    ----------
    requirement : Requirement
        A resolved requirement [-]
    supply : str
        The selector position that serves these loads [-]
    loads : iterable of LoadDemand
        At least one load [-]
    trace : Trace, optional
        Takes one line a step where given [-]

    Returns
    -------
    tuple of Demand and list of Finding
        The demand and the doubts of starting and duty [-]

    Raises
    ------
    OutsideTable
        A figure lies outside a table that has no rule for it.
    SequenceRefused
        Loads wait for each other in a circle.
    """
    mine = tuple(loads)
    starts, findings = _starts(requirement, mine, trace)
    found = sequence(mine, starts, trace, application=requirement.application)
    phases = spread(mine, supply, trace)
    profile, doubts = duty_profile(requirement, mine, trace)
    steps = deciding_steps(found.steps, requirement.application)
    lead = _leads(requirement, supply, found, phases, trace)
    return Demand(supply, mine, starts, found, steps, phases, profile, lead), findings + doubts


def in_this_order(demand: Demand, application: str, order: tuple[int, ...]) -> Demand:
    """Return a demand whose loads are started in an order that will be kept.

    Parameters
    ----------
    demand : Demand
        What the loads ask without an order [-]
    application : str
        One of ``APPLICATIONS``, for the dip limits [-]
    order : tuple of int
        Rows in the order of start [-]

    Returns
    -------
    Demand
        The same but for the steps: an order changes neither what runs nor for how long [-]

    Raises
    ------
    SequenceRefused
        Loads wait for each other in a circle.
    """
    found = sequence(demand.loads, demand.starts, application=application, order=order)
    return replace(demand, sequence=found, steps=deciding_steps(found.steps, application))


def deciding_steps(steps: Iterable[Step], application: str) -> tuple[Step, ...]:
    """Return for each dip limit the step with the largest start: the others seldom decide.

    Parameters
    ----------
    steps : iterable of Step
        All steps of a sequence, at least one [-]
    application : str
        One of ``APPLICATIONS`` [-]

    Returns
    -------
    tuple of Step
        One a limit, each with a larger start than any under a tighter limit [-]

    Raises
    ------
    TableRefused
        The application has no dip limit.

    Notes
    -----
    A filter only: a set that holds these steps is measured against all others as well.
    """
    largest: dict[float, Step] = {}
    for step in steps:
        percent = tightest(step.stands or (), application).percent
        if percent not in largest or step.dip_kva > largest[percent].dip_kva:
            largest[percent] = step
    kept: list[Step] = []
    for percent in sorted(largest):
        if not kept or largest[percent].dip_kva > kept[-1].dip_kva:
            kept.append(largest[percent])
    return tuple(kept)


def _starts(
    requirement: Requirement, loads: tuple[LoadDemand, ...], trace: Trace | None
) -> tuple[tuple[StartDemand, ...], list[Finding]]:
    """Starting demand of each load, in order."""
    starts: list[StartDemand] = []
    findings: list[Finding] = []
    for load in loads:
        start, doubts = start_demand(load, requirement.loads[load.index].nameplate, trace)
        starts.append(start)
        findings += doubts
    return tuple(starts), findings


def _leads(
    requirement: Requirement,
    supply: str,
    found: Sequence,
    phases: PhaseSpread,
    trace: Trace | None,
) -> Leads | None:
    """Leads for the worst line; all load of a hired set counts as continuous."""
    amps = max(phases.phase_amps)
    if amps <= 0:
        return None
    power_factor = found.peak_kw / found.peak_kva
    site = requirement.site
    return leads(
        amps, True, site.lead_length_m.likely, supply, power_factor, site.ambient_c.likely, trace,
        neutral_amps=math.hypot(phases.neutral_amps, phases.third_harmonic_amps),
        neutral_loaded=phases.third_harmonic_amps > 0,
    )  # fmt: skip
