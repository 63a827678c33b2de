"""Chapter 5: how far the frequency falls when the worst step comes on, and how it comes back."""

from __future__ import annotations

from dataclasses import dataclass

from sizing.fleet import GeneratorSet
from sizing.sequence import Step
from sizing.trace import Trace


@dataclass(frozen=True, slots=True)
class FrequencyDip:
    """Frequency after a step: deepest point, recovery, and the curve for a drawing."""

    percent: float
    limit_percent: float
    recovery_s: float
    recovery_limit_s: float
    step_percent: float  # the step as a share of site rating
    step_limit_percent: float
    points: tuple[tuple[float, float], ...] = ()  # (seconds, hertz)


CLASSES = {"G1": (15.0, 10.0), "G2": (10.0, 5.0), "G3": (7.0, 3.0)}


def step_percent(step: Step, site_kw: float) -> float:
    """Return the step as a share of the site rating [%], by the larger of start and settled kW."""
    return 100 * max(step.start_kw, step.settled_kw) / site_kw


def frequency_dip(
    step: Step,
    set_: GeneratorSet,
    site_kw: float,
    trace: Trace | None = None,
    points: bool = False,
) -> FrequencyDip:
    """Return the frequency dip of one step on one set [% of rated frequency]."""
    deepest, limit_s = CLASSES[set_.performance_class]
    percent = step_percent(step, site_kw)
    low, recovery, curve = _simulate(step, set_, site_kw)
    return FrequencyDip(
        low, deepest, recovery, limit_s, percent, set_.max_step_percent, curve if points else ()
    )


def _simulate(
    step: Step, set_: GeneratorSet, site_kw: float
) -> tuple[float, float, tuple[tuple[float, float], ...]]:
    before = step.before_kw / site_kw
    load = before + max(step.start_kw, step.settled_kw) / site_kw
    speed, power, integral, boost = 1.0, before, before, before
    dt, low, recovered = 0.005, 1.0, 0.0
    curve = []
    for count in range(int(12 / dt)):
        error = 1.0 - speed
        want = min(max(integral + 15 * error, 0.0), 1.0)
        ceiling = set_.naturally_aspirated_share + (1 - set_.naturally_aspirated_share) * boost
        if want < 1.0:
            integral += 10 * error * dt
        power += dt / set_.governor_lag_s * (min(want, ceiling) - power)
        boost += dt / set_.turbo_lag_s * (power - boost)
        speed += dt / (2 * set_.inertia_s) * (power - load) / max(speed, 0.3)
        speed = max(speed, 0.3)
        low = min(low, speed)
        if abs(speed - 1) > 0.02:
            recovered = (count + 1) * dt
        if count % 10 == 0:
            curve.append(((count + 1) * dt, 60 * speed))
    return 100 * (1 - low), recovered, tuple(curve)
