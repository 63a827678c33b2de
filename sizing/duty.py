"""Chapter 9: what the day looks like: hours, means, starts, fuel and the tank."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sizing.finding import Finding
from sizing.nameplate import LoadDemand
from sizing.requirement import Requirement
from sizing.trace import Trace


@dataclass(frozen=True, slots=True)
class DutyProfile:
    """Mean demand by hour of the day (24 values, kW) and what follows from it, set-independent.

    ``levels`` are the loads between which the day moves, (kW, hours a day) while the engine runs:
    the mean over an hour hides that a pump is either on or off.
    """

    hourly_kw: tuple[float, ...]
    running_hours: float  # engine hours a day
    mean_kw: float  # over running hours, as it is
    starts_per_hour: float | None = None
    starts_allowed_per_hour: float | None = None
    basis: str = ""
    levels: tuple[tuple[float, float], ...] = ()


def duty_profile(
    requirement: Requirement, demands: Sequence[LoadDemand], trace: Trace | None = None
) -> tuple[DutyProfile, list[Finding]]:
    """Return the day's profile."""
    hours = requirement.site.hours_per_day.likely
    kw = sum(d.running_kw * d.quantity * d.demand_factor for d in demands)
    hourly = tuple(kw * max(0.0, min(1.0, hours - h)) for h in range(24))
    return DutyProfile(hourly, hours, kw, levels=((kw, hours),)), []
