"""Chapter 5: how far voltage and frequency fall when the worst step comes on."""

from __future__ import annotations

from collections.abc import Sequence as Ordered
from dataclasses import dataclass

from sizing.fleet import GeneratorSet
from sizing.nameplate import LoadDemand
from sizing.sequence import Step
from sizing.trace import Trace


@dataclass(frozen=True, slots=True)
class VoltageDip:
    """Dip of one step on one set, in percent of the voltage before the step, with its limit."""

    percent: float
    simple_percent: float  # X'd / (X'd + S_set/S_start): the line a rep can redo by hand
    limit_percent: float
    limit_reason: str
    source: str


@dataclass(frozen=True, slots=True)
class DipLimit:
    """The deepest dip allowed [%], why, and where the figure stands."""

    percent: float
    reason: str
    source: str


def dip_limit(demands: Ordered[LoadDemand], application: str) -> DipLimit:
    """Return the tightest dip that the running loads and the application stand [%]."""
    limit = 15.0 if application in ("jobsite_trailer", "event_lighting") else 30.0
    return DipLimit(limit, f"application {application}", "allowable_dip")


def voltage_dip(
    step: Step,
    set_: GeneratorSet,
    supply: str,
    demands: Ordered[LoadDemand],
    application: str,
    trace: Trace | None = None,
) -> VoltageDip:
    """Return the dip of one step on one set [% of the voltage before the step]."""
    kva = set_.prime_kva
    if supply == "120/240":
        kva = set_.single_phase_kva or 0.577 * set_.prime_kva
    reactance = 1j * set_.transient_reactance_pu
    sine = max(1 - step.start_power_factor**2, 0.0) ** 0.5
    start = step.start_kva / kva * complex(step.start_power_factor, -sine)
    reactive = max(step.before_kva**2 - step.before_kw**2, 0.0) ** 0.5
    before = complex(step.before_kw, -reactive) / kva
    ratio = abs((1 + reactance * before) / (1 + reactance * (before + start)))
    scalar = step.start_kva / kva * set_.transient_reactance_pu
    limit = dip_limit([d for d in demands if d.index in step.running], application)
    return VoltageDip(
        100 * (1 - ratio), 100 * scalar / (1 + scalar), limit.percent, limit.reason, limit.source
    )
