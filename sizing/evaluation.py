"""Chapter 7: every check of one set against one demand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sizing.check import Check
from sizing.connection import fitted_leads, lead_checks, terminals_of
from sizing.demand import Demand
from sizing.dip import VoltageDip, hardest_dip, voltage_dip
from sizing.finding import Finding
from sizing.fleet import GeneratorSet
from sizing.frequency import FrequencyDip, step_percent, worst_frequency_dip
from sizing.fuel import FuelPlan, fuel_plan
from sizing.leads import Leads
from sizing.limits import at_least, at_most, limit
from sizing.position import rated_amps, single_phase_kva
from sizing.requirement import Requirement
from sizing.site_rating import SiteRating, site_rating
from sizing.sound import NEAREST_M, sound_at
from sizing.step import Step
from sizing.tables import source_line
from sizing.trace import Trace

STEP_CHECKS = ("voltage_dip", "load_step")
POSITION_SOURCE = "set record; ANSI C84.1 notation"
NEUTRAL_SOURCE = "NEC 220.61(C): the neutral is not reduced"
AUTONOMY_SOURCE = "tank over burn; common practice, no source"


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
    def leads(self) -> Leads | None:
        """Leads as they end on this set; ``None`` where nothing is to be led."""
        wanted = self.demand.leads
        return fitted_leads(wanted, self.set_, self.supply) if wanted else None

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


def evaluate(
    set_: GeneratorSet,
    demand: Demand,
    requirement: Requirement,
    trace: Trace | None = None,
    *,
    count: int = 1,
) -> Evaluation:
    """Return every check of one set against one demand, whether it passes or not.

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

    Returns
    -------
    Evaluation
        Checks in the order of the method [-]

    Raises
    ------
    KeyError
        The demand's supply is not a known system.
    """
    first = rated(set_, demand, requirement, trace, count=count)
    return simulated(loaded(first, requirement, trace), requirement, trace)


def rated(
    set_: GeneratorSet,
    demand: Demand,
    requirement: Requirement,
    trace: Trace | None = None,
    *,
    count: int = 1,
) -> Evaluation:
    """Return the first third of an evaluation: site rating, currents, terminals and sound.

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

    Returns
    -------
    Evaluation
        Without fuel and dips: not passed yet [-]

    Raises
    ------
    KeyError
        The demand's supply is not a known system.
    """
    site = requirement.site
    rating, findings = site_rating(set_, site.altitude_m.likely, site.ambient_c.likely, trace)
    amps = rated_amps(set_, demand.supply, rating.alternator_factor)
    sound = _sound(set_, requirement, count)
    checks = _rating_checks(set_, demand, requirement, rating, amps, sound)
    return Evaluation(
        set_, demand.supply, demand, rating, amps, checks, sound_dba=sound,
        findings=tuple(findings), count=count,
    )  # fmt: skip


def loaded(first: Evaluation, requirement: Requirement, trace: Trace | None = None) -> Evaluation:
    """Return the second third of an evaluation: fuel, mean load, voltage dip and load step.

    Parameters
    ----------
    first : Evaluation
        What ``rated`` returned [-]
    requirement : Requirement
        The same requirement [-]
    trace : Trace, optional
        Takes the lines of the calculation where given [-]

    Returns
    -------
    Evaluation
        Without the frequency dip: not passed yet [-]

    Raises
    ------
    OutsideTable
        A set without fuel points of its own lies outside the fuel chart.
    """
    fuel = fuel_plan(first.set_, first.demand.profile, requirement, first.rating.site_kw, trace)
    voltage = _worst_voltage(first, requirement, first.demand.steps)
    checks = (*first.checks, *_fuel_checks(first, fuel), *_step_checks(first, voltage))
    return replace(first, fuel=fuel, voltage=voltage, checks=checks)


def simulated(
    second: Evaluation,
    requirement: Requirement,
    trace: Trace | None = None,
    *,
    frequency: FrequencyDip | None = None,
) -> Evaluation:
    """Return a whole evaluation: every step's voltage dip, and the frequency dip.

    Parameters
    ----------
    second : Evaluation
        What ``loaded`` returned [-]
    requirement : Requirement
        The same requirement [-]
    trace : Trace, optional
        Takes the lines of the calculation where given [-]
    frequency : FrequencyDip, optional
        The dip of this set under this demand, where it is known already [%]

    Returns
    -------
    Evaluation
        Complete [-]

    Raises
    ------
    KeyError
        The set's performance class is not known.
    """
    set_, demand = second.set_, second.demand
    voltage = _worst_voltage(second, requirement, demand.sequence.steps, trace)
    if frequency is None:
        site_kw, drawn = second.rating.site_kw, trace is not None
        frequency = worst_frequency_dip(demand.engine_steps, set_, site_kw, trace, points=drawn)
    checks = (
        *second.checks[: -len(STEP_CHECKS)],
        *_step_checks(second, voltage),
        *frequency_checks(set_, frequency),
        *_lead_checks(second),
    )
    return replace(second, voltage=voltage, frequency=frequency, checks=checks)


def _rating_checks(
    set_: GeneratorSet,
    demand: Demand,
    requirement: Requirement,
    rating: SiteRating,
    amps: float,
    sound: float | None,
) -> tuple[Check, ...]:
    """Power, currents, terminals and sound."""
    peak, nonlinear = limit("peak_load"), limit("nonlinear_share")
    alternator_kva = rating.alternator_factor * (
        single_phase_kva(set_) if demand.supply == "120/240" else set_.prime_kva
    )
    usable_kw = peak.value / 100 * rating.site_kw
    share = 100 * demand.nonlinear_kva / alternator_kva
    there, given = demand.supply in set_.supplies, " ".join(set_.supplies)
    checks = [
        Check("supply_position", demand.supply, given, "-", there, POSITION_SOURCE),
        at_least("running_kw", demand.sequence.peak_kw, usable_kw, "kW", peak.source),
        at_least("line_current", demand.line_amps, amps, "A", "set record at this position"),
        at_least("neutral_current", demand.neutral_amps, amps, "A", NEUTRAL_SOURCE),
        at_most("nonlinear_share", share, nonlinear.value, "%", nonlinear.source),
        *_terminal_checks(set_, demand),
    ]
    noise = requirement.site.noise_limit_dba
    if noise is not None and sound is not None:
        checks.append(at_most("sound", sound, noise, "dBA", source_line("sound_rules")))
    return tuple(checks)


def _terminal_checks(set_: GeneratorSet, demand: Demand) -> list[Check]:
    """What the loads plug into, and whether the set can be called by a float switch."""
    checks = []
    if demand.leads is not None:
        wanted, given = demand.leads.connection, terminals_of(set_, demand.supply, demand.leads)
        checks.append(
            Check("connection", wanted, given or "none", "-", given is not None, "set record")
        )
    if demand.on_receptacles and demand.supply == "480Y/277":
        live = "live" if set_.live_120v_at_480 else "dead"
        checks.append(
            Check("receptacles_120v", "live", live, "-", set_.live_120v_at_480, "set record")
        )
    if demand.float_switched:
        auto = "yes" if set_.auto_start else "no"
        checks.append(Check("automatic_start", "yes", auto, "-", set_.auto_start, "set record"))
    return checks


def _worst_voltage(
    first: Evaluation,
    requirement: Requirement,
    steps: Sequence[Step],
    trace: Trace | None = None,
) -> VoltageDip:
    """The dip that comes nearest to, or furthest past, its own limit."""
    set_, supply, loads = first.set_, first.supply, first.demand.loads
    worst, _ = hardest_dip(steps, set_, supply, loads, requirement.application)
    return voltage_dip(worst, set_, supply, loads, requirement.application, trace)


def _fuel_checks(first: Evaluation, fuel: FuelPlan) -> tuple[Check, ...]:
    """Mean load, light load and autonomy."""
    mean, light = limit("mean_load"), limit("light_load")
    every, mean_percent = fuel.refuel_every_h, first.mean_running_percent
    return (
        at_most("mean_load", fuel.mean_load_percent, mean.value, "%", mean.source),
        at_least("light_load", light.value, mean_percent, "%", light.source, binding=False),
        at_least("autonomy", every, fuel.autonomy_h, "h", AUTONOMY_SOURCE, binding=False),
    )


def _step_checks(first: Evaluation, voltage: VoltageDip) -> tuple[Check, ...]:
    """Voltage dip and the step that the set accepts at once."""
    share = step_percent(first.demand.hardest_step, first.rating.site_kw)
    most = first.set_.max_step_percent
    return (
        at_most("voltage_dip", voltage.percent, voltage.limit_percent, "%", voltage.source),
        at_most("load_step", share, most, "%", "set record"),
    )


def frequency_checks(set_: GeneratorSet, frequency: FrequencyDip) -> tuple[Check, ...]:
    """Return the checks of the frequency dip and of its recovery.

    Parameters
    ----------
    set_ : GeneratorSet
        Names the performance class [-]
    frequency : FrequencyDip
        The simulated dip [-]

    Returns
    -------
    tuple of Check
        Depth [%] and recovery [s]

    Raises
    ------
    AttributeError
        An argument is of another kind.
    """
    source = f"ISO 8528-5, class {set_.performance_class}"
    return (
        at_most("frequency_dip", frequency.percent, frequency.limit_percent, "%", source),
        at_most(
            "frequency_recovery", frequency.recovery_s, frequency.recovery_limit_s, "s", source
        ),
    )


def _lead_checks(second: Evaluation) -> list[Check]:
    """Checks of the leads: no larger set would mend them, so they refuse none."""
    leads = second.leads
    found = lead_checks(leads, second.set_, second.supply) if leads is not None else ()
    return [replace(check, binding=False) for check in found]


def _sound(set_: GeneratorSet, requirement: Requirement, count: int) -> float | None:
    """Sound level at the listener [dBA]; ``None`` where no distance is known or it is too near."""
    site = requirement.site
    if site.noise_distance_m is None or site.noise_distance_m < NEAREST_M:
        return None
    return sound_at(set_, site.noise_distance_m, count, site.barrier_db)
