"""Chapter 7: every check of one set, and the smallest set of a fleet that passes them all."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

from sizing.around import sound_at
from sizing.check import Check
from sizing.demand import LINE_VOLTS, Demand
from sizing.dip import VoltageDip, voltage_dip
from sizing.finding import Finding
from sizing.fleet import GeneratorSet
from sizing.frequency import FrequencyDip, frequency_dip
from sizing.fuel import FuelPlan, fuel_plan
from sizing.requirement import Requirement
from sizing.sequence import Step
from sizing.site_rating import SiteRating, site_rating
from sizing.tables import source_line, table
from sizing.trace import Trace

SQRT3 = math.sqrt(3)
TOLERANCE = 1e-9  # a figure equal to its limit passes, whatever the last bit says


class Limit(NamedTuple):
    """A limit of the selection and where it stands."""

    value: float
    source: str


@dataclass(frozen=True, slots=True)
class Evaluation:
    """One set measured against one demand. Where a cheap check refused it, the dear figures
    (``fuel``, dips) are ``None``; a passed evaluation always has them.
    """

    set_: GeneratorSet
    supply: str
    demand: Demand
    rating: SiteRating
    rated_amps: float
    checks: tuple[Check, ...]
    fuel: FuelPlan | None = None
    voltage: VoltageDip | None = None
    frequency: FrequencyDip | None = None
    sound_dba: float | None = None
    findings: tuple[Finding, ...] = ()
    count: int = 1  # sets that share the load in parallel

    @property
    def passed(self) -> bool:
        """Whether every binding check holds and none was left out."""
        return self.frequency is not None and not self.refusals

    @property
    def refusals(self) -> tuple[Check, ...]:
        """Binding checks that do not hold."""
        return tuple(check for check in self.checks if check.binding and not check.passed)

    @property
    def load_percent(self) -> float:
        """Peak running load over site rating [%]."""
        return 100 * self.demand.sequence.peak_kw / self.rating.site_kw

    @property
    def mean_running_percent(self) -> float:
        """Mean load over the running hours as it is, over site rating [%]."""
        return 100 * self.demand.profile.mean_kw / self.rating.site_kw


@cache
def limit(name: str) -> Limit:
    """Return a limit of the selection with its source.

    Parameters
    ----------
    name : str
        Key of the table ``selection_limits`` [-]

    Returns
    -------
    Limit
        Value in the unit of its row, and the row's source [-]

    Raises
    ------
    TableRefused
        The table holds no such limit.
    """
    return Limit(table("selection_limits").at("value", name), source_line("selection_limits", name))


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


def evaluate(
    set_: GeneratorSet,
    demand: Demand,
    requirement: Requirement,
    trace: Trace | None = None,
    *,
    count: int = 1,
    whole: bool = True,
) -> Evaluation:
    """Return every check of one set against one demand.

    Parameters
    ----------
    set_ : GeneratorSet
        The set, or the composite of sets in parallel [-]
    demand : Demand
        What the loads of one supply ask [-]
    requirement : Requirement
        A resolved requirement [-]
    trace : Trace, optional
        Takes the lines of the calculation where given [-]
    count : int
        Sets in parallel that ``set_`` stands for [-]
    whole : bool
        ``False`` stops before fuel and dips where a cheap check refuses the set [-]

    Returns
    -------
    Evaluation
        Checks in the order of the method [-]

    Raises
    ------
    KeyError
        The demand's supply is not a known system.
    """
    site = requirement.site
    rating, findings = site_rating(set_, site.altitude_m.likely, site.ambient_c.likely, trace)
    amps = rated_amps(set_, demand.supply, rating.alternator_factor)
    sound = _sound(set_, requirement, count)
    checks = _cheap_checks(set_, demand, requirement, rating, amps, sound)
    first = Evaluation(
        set_, demand.supply, demand, rating, amps, checks, sound_dba=sound,
        findings=tuple(findings), count=count,
    )  # fmt: skip
    if first.refusals and not whole:
        return first
    return _with_fuel_and_dips(first, requirement, trace)


def passing(
    fleet: Iterable[GeneratorSet], demand: Demand, requirement: Requirement
) -> Iterator[Evaluation]:
    """Yield the sets that pass every check, smallest first, as far as the caller asks.

    Parameters
    ----------
    fleet : iterable of GeneratorSet
        Sets in any order [-]
    demand : Demand
        What the loads of one supply ask [-]
    requirement : Requirement
        A resolved requirement [-]

    Yields
    ------
    Evaluation
        Passed evaluations by rising prime power, then by code [-]

    Raises
    ------
    KeyError
        The demand's supply is not a known system.
    """
    for set_ in sorted(fleet, key=by_size):
        if could_carry(set_, demand):
            found = evaluate(set_, demand, requirement, whole=False)
            if found.passed:
                yield found


def by_size(set_: GeneratorSet) -> tuple[float, str]:
    """Return the order of a fleet: prime power [kW], then code."""
    return set_.prime_kw, set_.code


def could_carry(set_: GeneratorSet, demand: Demand) -> bool:
    """Return whether a set might carry a demand at reference conditions: the cheapest filter.

    Parameters
    ----------
    set_ : GeneratorSet
        The set's own record [-]
    demand : Demand
        What the loads of one supply ask [-]

    Returns
    -------
    bool
        ``False`` only where no site could make the set pass [-]

    Raises
    ------
    KeyError
        The demand's supply is not a known system.

    Notes
    -----
    No derating factor is above 1, so what fails here fails everywhere.
    """
    return (
        demand.supply in set_.supplies
        and set_.quantity > 0
        and set_.prime_kw >= demand.sequence.peak_kw - TOLERANCE
        and rated_amps(set_, demand.supply) >= demand.line_amps - TOLERANCE
    )


def at_most(
    name: str, value: float, most: float, unit: str, source: str, *, binding: bool = True
) -> Check:
    """Return a check that holds where ``value`` does not exceed ``most``.

    Parameters
    ----------
    name : str
        Code of the check [-]
    value : float
        What would come about, in ``unit`` [unit]
    most : float
        The limit, in ``unit`` [unit]
    unit : str
        Unit of both [-]
    source : str
        Where the limit stands [-]
    binding : bool
        Whether a failure refuses the set [-]

    Returns
    -------
    Check
        ``required`` is the limit, ``provided`` the value [unit]

    Raises
    ------
    TypeError
        A figure is no number.
    """
    passed = value <= most + TOLERANCE * max(1.0, abs(most))
    return Check(name, most, value, unit, passed, source, binding)


def at_least(
    name: str, needed: float, value: float, unit: str, source: str, *, binding: bool = True
) -> Check:
    """Return a check that holds where ``value`` reaches ``needed``.

    Parameters
    ----------
    name : str
        Code of the check [-]
    needed : float
        What the job asks, in ``unit`` [unit]
    value : float
        What the set gives, in ``unit`` [unit]
    unit : str
        Unit of both [-]
    source : str
        Where the rule stands [-]
    binding : bool
        Whether a failure refuses the set [-]

    Returns
    -------
    Check
        ``required`` is the need, ``provided`` the value [unit]

    Raises
    ------
    TypeError
        A figure is no number.
    """
    passed = value >= needed - TOLERANCE * max(1.0, abs(needed))
    return Check(name, needed, value, unit, passed, source, binding)


def _cheap_checks(
    set_: GeneratorSet,
    demand: Demand,
    requirement: Requirement,
    rating: SiteRating,
    amps: float,
    sound: float | None,
) -> tuple[Check, ...]:
    """Checks that take no simulation, in the order of the method."""
    peak, nonlinear = limit("peak_load"), limit("nonlinear_share")
    alternator_kva = rating.alternator_factor * (
        single_phase_kva(set_) if demand.supply == "120/240" else set_.prime_kva
    )
    usable_kw = peak.value / 100 * rating.site_kw
    checks = [
        Check("supply_position", demand.supply, " ".join(set_.supplies), "-",
              demand.supply in set_.supplies, "set record; ANSI C84.1 notation"),
        at_least("running_kw", demand.sequence.peak_kw, usable_kw, "kW", peak.source),
        at_least("line_current", demand.line_amps, amps, "A", "set record at this position"),
        at_least("neutral_current", demand.neutral_amps, amps, "A", "NEC 220.61(C): neutral not reduced"),
        at_most("nonlinear_share", 100 * demand.nonlinear_kva / alternator_kva, nonlinear.value, "%", nonlinear.source),
        *_terminal_checks(set_, demand),
    ]  # fmt: skip
    noise = requirement.site.noise_limit_dba
    if noise is not None and sound is not None:
        checks.append(at_most("sound", sound, noise, "dBA", source_line("sound_rules")))
    return tuple(checks)


def _terminal_checks(set_: GeneratorSet, demand: Demand) -> list[Check]:
    """What the loads plug into, and whether the set can be called by a float switch."""
    checks = []
    if demand.leads is not None and demand.leads.connection != "receptacle":
        given = [n for n, there in (("lugs", set_.lugs), ("cam_lock", set_.cam_sets > 0)) if there]
        checks.append(
            Check("connection", demand.leads.connection, " ".join(given) or "none", "-",
                  bool(given), "set record")
        )  # fmt: skip
    if any(load.via == "receptacles" for load in demand.loads) and demand.supply == "480Y/277":
        live = "live" if set_.live_120v_at_480 else "dead"
        checks.append(
            Check("receptacles_120v", "live", live, "-", set_.live_120v_at_480, "set record")
        )
    if any(load.float_switch for load in demand.loads):
        auto = "yes" if set_.auto_start else "no"
        checks.append(Check("automatic_start", "yes", auto, "-", set_.auto_start, "set record"))
    return checks


def _with_fuel_and_dips(
    first: Evaluation, requirement: Requirement, trace: Trace | None
) -> Evaluation:
    """The same evaluation with fuel, mean load, dips and their checks."""
    demand, set_, site_kw = first.demand, first.set_, first.rating.site_kw
    fuel = fuel_plan(set_, demand.profile, requirement, site_kw, trace)
    voltage = _worst_voltage(first, requirement, trace)
    frequency = _worst_frequency(first, trace)
    checks = (*first.checks, *_fuel_checks(first, fuel), *_dip_checks(set_, voltage, frequency))
    return Evaluation(
        set_, first.supply, demand, first.rating, first.rated_amps, checks, fuel, voltage,
        frequency, first.sound_dba, first.findings, first.count,
    )  # fmt: skip


def _worst_voltage(first: Evaluation, requirement: Requirement, trace: Trace | None) -> VoltageDip:
    """The dip that comes nearest to, or furthest past, its own limit."""

    def dip(step: Step, trace: Trace | None = None) -> VoltageDip:
        return voltage_dip(
            step, first.set_, first.supply, first.demand.loads, requirement.application, trace
        )

    steps = first.demand.steps
    worst = max(steps, key=lambda step: _share(dip(step))) if len(steps) > 1 else steps[0]
    return dip(worst, trace)


def _share(dip: VoltageDip) -> float:
    return dip.percent / dip.limit_percent


def _worst_frequency(first: Evaluation, trace: Trace | None) -> FrequencyDip:
    """The frequency dip of the step that asks most kilowatts."""
    step = first.demand.sequence.worst_kw_step or first.demand.sequence.worst
    return frequency_dip(step, first.set_, first.rating.site_kw, trace, points=trace is not None)


def _fuel_checks(first: Evaluation, fuel: FuelPlan) -> tuple[Check, ...]:
    """Mean load, light load and autonomy."""
    mean, light = limit("mean_load"), limit("light_load")
    every = fuel.refuel_every_h
    return (
        at_most("mean_load", fuel.mean_load_percent, mean.value, "%", mean.source),
        at_least("light_load", light.value, first.mean_running_percent, "%", light.source, binding=False),
        at_least("autonomy", every, fuel.autonomy_h, "h", "tank over burn; common practice, no source", binding=False),
    )  # fmt: skip


def _dip_checks(
    set_: GeneratorSet, voltage: VoltageDip, frequency: FrequencyDip
) -> tuple[Check, ...]:
    """Voltage dip, accepted step, frequency dip and its recovery."""
    governing = f"ISO 8528-5, class {set_.performance_class}"
    return (
        at_most("voltage_dip", voltage.percent, voltage.limit_percent, "%", voltage.source),
        at_most("load_step", frequency.step_percent, frequency.step_limit_percent, "%", "set record"),
        at_most("frequency_dip", frequency.percent, frequency.limit_percent, "%", governing),
        at_most("frequency_recovery", frequency.recovery_s, frequency.recovery_limit_s, "s", governing),
    )  # fmt: skip


def _sound(set_: GeneratorSet, requirement: Requirement, count: int) -> float | None:
    """Sound level at the listener [dBA]; ``None`` where no distance is known."""
    site = requirement.site
    if site.noise_distance_m is None:
        return None
    return sound_at(set_, site.noise_distance_m, count, site.barrier_db)
