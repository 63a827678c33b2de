"""Chapter 5: how far the frequency falls when a step comes on, and when it is back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

from sizing.engine import Engine, Run, engine_run
from sizing.fleet import GeneratorSet
from sizing.step import Step
from sizing.tables import source_line, table
from sizing.trace import Trace

RATED_HZ = 60.0


@dataclass(frozen=True, slots=True)
class FrequencyDip:
    """Frequency after a step: deepest point, recovery, and the curve for a drawing.

    ``recovery_s`` is the end of the simulated time where the set does not recover.
    """

    percent: float
    limit_percent: float
    recovery_s: float
    recovery_limit_s: float
    step_percent: float  # the step as a share of site rating
    step_limit_percent: float
    points: tuple[tuple[float, float], ...] = ()  # (seconds, hertz)


class ClassLimits(NamedTuple):
    """What ISO 8528-5 allows a class on load acceptance."""

    dip_percent: float
    recovery_s: float
    band_percent: float
    source: str


def step_percent(step: Step, site_kw: float) -> float:
    """Return a step as a share of what the engine gives at the site: the cheap screen.

    Equation: s = 100 max(P_start, P_settled) / P_site.

    Parameters
    ----------
    step : Step
        What comes on [kW]
    site_kw : float
        Site rating of the set, above 0 [kW]

    Returns
    -------
    float
        Step, to be held against the record's ``max_step_percent`` [%]

    Raises
    ------
    ZeroDivisionError
        ``site_kw`` is 0.

    Notes
    -----
    Conservative: the start's kilowatts are taken at full voltage.

    Source: ISO 8528-5, load acceptance; the set's record.

    Examples
    --------
    A start of 18.9 kW on 50 kW: 37.8 %.
    """
    return 100 * step.kick_kw / site_kw


def frequency_dip(
    step: Step,
    set_: GeneratorSet,
    site_kw: float,
    trace: Trace | None = None,
    points: bool = False,
) -> FrequencyDip:
    """Return the frequency dip of one step on one set, with its class's limits.

    Equation: 2 H dw/dt = m - p with speed w, engine torque m and load torque p; see `engine_run`.

    Parameters
    ----------
    step : Step
        What comes on, and what runs [kW]
    set_ : GeneratorSet
        The set's own record [-]
    site_kw : float
        Site rating of the set, above 0 [kW]
    trace : Trace, optional
        Takes the lines of the calculation where given [-]
    points : bool
        Whether the curve is wanted [-]

    Returns
    -------
    FrequencyDip
        Deepest point in percent of rated frequency, recovery [s], limits, and the curve [s, Hz]

    Raises
    ------
    TableRefused
        The set's class has no row.
    ZeroDivisionError
        ``site_kw`` is 0.

    Notes
    -----
    A simulation, about a millisecond long: screen a fleet with `step_percent` first. Typical
    lags stand in where the record has none; the load keeps its torque while speed and voltage
    fall; the surge of a motor near its breakdown torque is left out.

    Source: performance_classes (ISO 8528-5); the model is that of `engine_run`.
    """
    limits = class_limits(set_.performance_class)
    run = _run(step, set_, site_kw, limits, points)
    found = FrequencyDip(
        100 * (1 - run.lowest), limits.dip_percent, run.recovery_s, limits.recovery_s,
        step_percent(step, site_kw), set_.max_step_percent,
        tuple((seconds, RATED_HZ * speed) for seconds, speed in run.points),
    )  # fmt: skip
    if trace is not None:
        _write(trace, step, set_, site_kw, found)
    return found


def worst_frequency_dip(
    steps: Sequence[Step],
    set_: GeneratorSet,
    site_kw: float,
    trace: Trace | None = None,
    points: bool = False,
) -> FrequencyDip:
    """Return the frequency dip that comes nearest to, or furthest past, its class's limits.

    Equation: max over steps of max(dip / limit, recovery / limit); the step is the largest.

    Parameters
    ----------
    steps : sequence of Step
        At least one, such as ``Sequence.engine_steps`` [kW]
    set_ : GeneratorSet
        The set's own record [-]
    site_kw : float
        Site rating of the set, above 0 [kW]
    trace : Trace, optional
        Takes the lines of the deciding step where given [-]
    points : bool
        Whether the curve is wanted [-]

    Returns
    -------
    FrequencyDip
        That of the deciding step, with the largest step of all [%, s]

    Raises
    ------
    TableRefused
        The set's class has no row.
    ValueError
        There are no steps.

    Notes
    -----
    Source: as `frequency_dip`.
    """
    if len(steps) == 1:
        return frequency_dip(steps[0], set_, site_kw, trace, points)
    worst = max(steps, key=lambda step: _share(frequency_dip(step, set_, site_kw)))
    found = frequency_dip(worst, set_, site_kw, trace, points)
    return replace(found, step_percent=max(step_percent(step, site_kw) for step in steps))


def _share(found: FrequencyDip) -> float:
    return max(found.percent / found.limit_percent, found.recovery_s / found.recovery_limit_s)


@lru_cache(maxsize=8)
def class_limits(performance_class: str) -> ClassLimits:
    """Return what ISO 8528-5 allows a performance class when load comes on.

    Parameters
    ----------
    performance_class : str
        ``G1``, ``G2`` or ``G3`` [-]

    Returns
    -------
    ClassLimits
        Frequency dip [%], recovery time [s], band of recovery [%]

    Raises
    ------
    TableRefused
        There is no such class.

    Notes
    -----
    Source: performance_classes.
    """
    row = table("performance_classes").row(performance_class)
    return ClassLimits(
        row["frequency_dip_percent"], row["frequency_recovery_s"], row["frequency_band_percent"],
        source_line("performance_classes"),
    )  # fmt: skip


def engine_of(set_: GeneratorSet, site_kw: float) -> Engine:
    """Return a set's engine per unit of its site rating.

    Equation: H' = H S_prime / P_site, since H counts on the alternator's rating.

    Parameters
    ----------
    set_ : GeneratorSet
        The set's own record [-]
    site_kw : float
        Site rating, above 0 [kW]

    Returns
    -------
    Engine
        Inertia, lags and the torque there at once [s, -]

    Raises
    ------
    ZeroDivisionError
        ``site_kw`` is 0.

    Notes
    -----
    A naturally aspirated engine has all its torque at once.

    Source: the set's record.
    """
    at_once = set_.naturally_aspirated_share
    if set_.aspiration == "naturally_aspirated":
        at_once = 1.0
    return Engine(
        set_.inertia_s * set_.prime_kva / site_kw, set_.governor_lag_s, set_.turbo_lag_s, at_once
    )


def _run(step: Step, set_: GeneratorSet, site_kw: float, limits: ClassLimits, points: bool) -> Run:
    before = step.before_kw / site_kw
    after = before + step.kick_kw / site_kw
    return engine_run(engine_of(set_, site_kw), before, after, limits.band_percent / 100, points)


def _write(
    trace: Trace, step: Step, set_: GeneratorSet, site_kw: float, found: FrequencyDip
) -> None:
    engine = engine_of(set_, site_kw)
    trace.add(
        "frequency",
        f"step: {step.kick_kw:.2f} kW / {site_kw:.1f} kW = {found.step_percent:.1f} % against "
        f"{found.step_limit_percent:.0f} % that the set accepts",
        "set record",
    )
    trace.add(
        "frequency",
        f"2 H dw/dt = m - p, H = {set_.inertia_s:.2f} s x {set_.prime_kva:.1f} kVA / "
        f"{site_kw:.1f} kW = {engine.inertia_s:.2f} s, p from {step.before_kw / site_kw:.3f} to "
        f"{step.momentary_kw / site_kw:.3f}, governor {engine.governor_lag_s:.2f} s, turbo "
        f"{engine.turbo_lag_s:.2f} s: lowest {RATED_HZ * (1 - found.percent / 100):.2f} Hz = "
        f"-{found.percent:.1f} %, back after {found.recovery_s:.1f} s",
        "swing equation with first-order lags; lags from the set record",
    )
    trace.add(
        "frequency",
        f"{found.percent:.1f} % against {found.limit_percent:.0f} %, {found.recovery_s:.1f} s "
        f"against {found.recovery_limit_s:.0f} s",
        f"{class_limits(set_.performance_class).source}, class {set_.performance_class}",
    )
