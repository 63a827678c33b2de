"""Chapter 5: how far the voltage falls when a step comes on, and how far it may."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

from sizing.fleet import GeneratorSet
from sizing.ladder import voltage_lost
from sizing.plate import LoadDemand
from sizing.step import Step
from sizing.tables import table
from sizing.trace import Trace
from sizing.withstand import DipLimit, rules_of, tightest

__all__ = ["DipLimit", "VoltageDip", "dip_limit", "simple_dip_percent", "voltage_dip"]


@dataclass(frozen=True, slots=True)
class VoltageDip:
    """Dip of one step on one set, in percent of the voltage before the step, with its limit.

    ``recovery_class`` is the tightest ISO 8528-5 class whose dip limit the step keeps, empty
    where none does; ``recovery_s`` is the time in which the set's own class is back.
    """

    percent: float
    simple_percent: float  # X'd / (X'd + S_set/S_start): the line a rep can redo by hand
    limit_percent: float
    limit_reason: str
    source: str
    recovery_class: str = ""
    recovery_s: float = 0.0


def dip_limit(demands: Iterable[LoadDemand], application: str) -> DipLimit:
    """Return the deepest dip that the running loads and the application allow.

    Parameters
    ----------
    demands : iterable of LoadDemand
        Loads that run when the step comes on [-]
    application : str
        One of ``APPLICATIONS`` [-]

    Returns
    -------
    DipLimit
        The tightest limit [%], why, and its source [-]

    Raises
    ------
    TableRefused
        The application has no row.

    Notes
    -----
    Source: allowable_dip.
    """
    return tightest(rules_of(demands), application)


def simple_dip_percent(start_kva: float, set_kva: float, reactance_pu: float) -> float:
    """Return the dip by its simplest form: one start, nothing running, no angles.

    Equation: dip = X'd / (X'd + S_set / S_start).

    Parameters
    ----------
    start_kva : float
        Starting apparent power S_start, not negative [kVA]
    set_kva : float
        Rating of the set S_set, above 0 [kVA]
    reactance_pu : float
        Transient reactance X'd on the set's own base [pu]

    Returns
    -------
    float
        Dip, 0 to 100 [%]

    Raises
    ------
    ZeroDivisionError
        ``set_kva`` is 0.

    Notes
    -----
    At starting power factors near 0 half a point above the vector form; at high ones far above.

    Source: Sheldrake, Handbook of Electrical Engineering, Appendix G with no other load (read).

    Examples
    --------
    >>> round(simple_dip_percent(20 * 6.29, 75.0, 0.25), 2)
    29.54
    """
    drop = reactance_pu * start_kva / set_kva
    return 100 * drop / (1 + drop)


def largest_start_kva(dip_percent: float, set_kva: float, reactance_pu: float) -> float:
    """Return the largest start that keeps a dip, by the simplest form.

    Equation: S_start = S_set d / ((1 - d) X'd).

    Parameters
    ----------
    dip_percent : float
        Dip allowed, 0 to under 100 [%]
    set_kva : float
        Rating of the set [kVA]
    reactance_pu : float
        Transient reactance X'd, above 0 [pu]

    Returns
    -------
    float
        Starting apparent power [kVA]

    Raises
    ------
    ZeroDivisionError
        The reactance is 0 or the dip 100 %.

    Notes
    -----
    Source: the simplest form turned round.

    Examples
    --------
    >>> round(largest_start_kva(25.0, 75.0, 0.25), 6)
    100.0
    """
    share = dip_percent / 100
    return set_kva * share / ((1 - share) * reactance_pu)


def voltage_dip(
    step: Step,
    set_: GeneratorSet,
    supply: str,
    demands: Iterable[LoadDemand],
    application: str,
    trace: Trace | None = None,
) -> VoltageDip:
    """Return the dip of one step on one set, with the tightest limit.

    Equation: dip = 1 - |(1 + jX'd Yr) / (1 + jX'd (Yr + Ys))|, Y = (P - jQ) / S_set.

    Parameters
    ----------
    step : Step
        What starts and what runs [kVA, kW]
    set_ : GeneratorSet
        The set's own record [-]
    supply : str
        Selector position, one of ``SUPPLIES`` [-]
    demands : iterable of LoadDemand
        All loads; looked at only where the step does not say what its running loads stand [-]
    application : str
        One of ``APPLICATIONS`` [-]
    trace : Trace, optional
        Takes the lines of the calculation where given [-]

    Returns
    -------
    VoltageDip
        Dip in percent of the voltage before the step, simple form beside it, and its limit [%]

    Raises
    ------
    TableRefused
        The application has no dip limit or the set's class no row.

    Notes
    -----
    S_set is the prime rating, at 120/240 the single-phase rating. Altitude and heat do not change
    the reactance and so not the dip. The regulator acts after the first instant: recovery is the
    class's. A single-phase start counts as the balanced start that loads the worst phase alike.

    Source: Sheldrake, Handbook of Electrical Engineering, Appendix G (read).
    """
    kva = base_kva(set_, supply)
    limit = _allowed(step, demands, application)
    percent = 100 * voltage_lost(step, set_.transient_reactance_pu * 1j, kva)
    simple = simple_dip_percent(step.dip_kva, kva, set_.transient_reactance_pu)
    found = VoltageDip(
        percent, simple, limit.percent, limit.reason, limit.source,
        _class_met(percent), _recovery_s(set_.performance_class),
    )  # fmt: skip
    if trace is not None:
        _write(trace, step, set_, kva, found)
    return found


def hardest_dip(
    steps: Iterable[Step],
    set_: GeneratorSet,
    supply: str,
    demands: Iterable[LoadDemand],
    application: str,
) -> tuple[Step, float]:
    """Return the step whose dip comes nearest to, or furthest past, its own limit.

    Equation: max over steps of dip / limit, each with all that may run beside it and alone.

    Parameters
    ----------
    steps : iterable of Step
        At least one [kVA, kW]
    set_ : GeneratorSet
        The set's own record [-]
    supply : str
        Selector position, one of ``SUPPLIES`` [-]
    demands : iterable of LoadDemand
        All loads, as for `voltage_dip` [-]
    application : str
        One of ``APPLICATIONS`` [-]

    Returns
    -------
    tuple of Step and float
        The step, with nothing beside it where that is the harder moment, and its dip over its
        limit [-]

    Raises
    ------
    TableRefused
        The application has no dip limit.
    ValueError
        There are no steps.

    Notes
    -----
    What runs beside a start softens the dip a little, and it may be off at that moment.

    Source: as `voltage_dip`.
    """
    source, kva = set_.transient_reactance_pu * 1j, base_kva(set_, supply)

    def weighed(step: Step) -> tuple[float, bool]:
        beside = voltage_lost(step, source, kva)
        alone = voltage_lost(step, source, kva, alone=True)
        allowed = _allowed(step, demands, application).percent
        return 100 * max(beside, alone) / allowed, alone > beside

    (share, alone), worst = max(
        ((weighed(step), step) for step in steps), key=lambda found: found[0][0]
    )
    return replace(worst, before_kw=0.0, before_kva=0.0) if alone else worst, share


def _allowed(step: Step, demands: Iterable[LoadDemand], application: str) -> DipLimit:
    """The tightest limit of what runs beside a step."""
    stands = step.stands
    if stands is None:
        stands = rules_of(d for d in demands if d.index in step.running)
    return tightest(stands, application)


def base_kva(set_: GeneratorSet, supply: str) -> float:
    """Return the rating at a selector position, the base of the dip.

    Parameters
    ----------
    set_ : GeneratorSet
        The set's own record [-]
    supply : str
        Selector position [-]

    Returns
    -------
    float
        Prime rating on three phases; at 120/240 the record's single-phase rating, else the
        default share of the three-phase one [kVA]

    Raises
    ------
    TableRefused
        The table of limits holds no single-phase share.

    Notes
    -----
    Source: the set's record; selection_limits, row single_phase_share.
    """
    if supply != "120/240":
        return set_.prime_kva
    return set_.single_phase_kva or _single_phase_share() * set_.prime_kva


@lru_cache(maxsize=1)
def _single_phase_share() -> float:
    return float(table("selection_limits").at("value", "single_phase_share") / 100)


@lru_cache(maxsize=1)
def _class_limits() -> tuple[tuple[float, str], ...]:
    """Dip limit and name of each class, tightest first."""
    rows = table("performance_classes").rows
    return tuple(sorted((row["voltage_dip_percent"], row["performance_class"]) for row in rows))


def _class_met(percent: float) -> str:
    for limit, name in _class_limits():
        if percent <= limit:
            return name
    return ""


@lru_cache(maxsize=8)
def _recovery_s(performance_class: str) -> float:
    return float(table("performance_classes").at("voltage_recovery_s", performance_class))


def _write(trace: Trace, step: Step, set_: GeneratorSet, kva: float, found: VoltageDip) -> None:
    x, start = set_.transient_reactance_pu, step.dip_kva
    trace.add(
        "dip",
        f"simple form: {x:.3f} / ({x:.3f} + {kva:.1f} kVA / {start:.1f} kVA) = "
        f"{found.simple_percent:.1f} %",
        "Sheldrake, Handbook of Electrical Engineering, App. G, no other load",
    )
    before = complex(step.before_kw, -step.before_kvar) / kva
    cosine = step.start_power_factor
    starting = start / kva * complex(cosine, -(max(1 - cosine * cosine, 0.0) ** 0.5))
    trace.add(
        "dip",
        f"{step.name}: Yr = {before:.4f}, Ys = {starting:.4f} pu on {kva:.1f} kVA; "
        f"1 - |(1 + j{x:.3f} Yr) / (1 + j{x:.3f} (Yr + Ys))| = {found.percent:.1f} %",
        "Sheldrake, Handbook of Electrical Engineering, App. G",
    )
    trace.add(
        "dip",
        f"{found.percent:.1f} % against {found.limit_percent:.1f} %: {found.limit_reason}; "
        f"back within {found.recovery_s:.0f} s by class {set_.performance_class}",
        found.source,
    )
