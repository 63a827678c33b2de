"""Chapter 9: what the day looks like: who runs when, hours, means, starts.

The application decides the windows: work by the clock, lamps by the sun, pumps by the sump.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sizing.day import Block, Cell, cells, hourly_kw, load_levels, merged
from sizing.finding import Finding
from sizing.nameplate import LoadDemand
from sizing.pumping import Pumping, pumping
from sizing.requirement import Requirement
from sizing.tables import source_line, table
from sizing.trace import Trace
from sizing.windows import day_windows, window_of


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
    """Profile of the day at the site, and what was assumed for it.

    Mean load = sum of level x hours over running hours.

    Parameters
    ----------
    requirement : Requirement
        Application, site and hire, resolved [-]
    demands : sequence of LoadDemand, shape (n,)
        Running demand by row [kW].
    trace : Trace or None
        Where the lines go [-]

    Returns
    -------
    DutyProfile
        Hourly means [kW], engine hours [h/day], mean [kW], starts [1/h].
    list of Finding
        Assumptions as notes, what a person should see as warnings [-]

    Raises
    ------
    PlaceRefused
        The ZIP names no place.

    Notes
    -----
    Thermostats are not counted: heating and cooling run through their window, so fuel is at its
    upper end. A float switch is taken to start and stop the engine where nothing else runs, with
    warm-up and cool-down added. The longest lighting time of the hire stands for every day.

    Source: ISO 8528-1 for running hours without standstill; sizing/tables/duty_rules.csv.
    """
    windows, findings = day_windows(requirement, demands)
    pumps = pumping(requirement, demands, windows.work, trace)
    steady = [
        Block(_row_kw(d), window_of(d, requirement, windows)) for d in demands if not d.float_switch
    ]
    day = cells(merged([*steady, *pumps.blocks]))
    profile = _profile(day, pumps, f"{windows.basis}; {pumps.basis}".strip("; "))
    if trace:
        _write(trace, profile, unloaded_share(pumps.engine_starts_per_hour))
    return profile, [*findings, *pumps.findings]


def _row_kw(demand: LoadDemand) -> float:
    return demand.running_kw * demand.quantity * demand.demand_factor


def _profile(day: Sequence[Cell], pumps: Pumping, basis: str) -> DutyProfile:
    levels = load_levels(day, unloaded_share(pumps.engine_starts_per_hour))
    hours = min(24.0, sum(h for _, h in levels))
    mean_kw = sum(kw * h for kw, h in levels) / hours if hours else 0.0
    return DutyProfile(
        hourly_kw(day), hours, mean_kw,
        pumps.starts_per_hour, pumps.starts_allowed_per_hour, basis, levels,
    )  # fmt: skip


def unloaded_share(engine_starts_per_hour: float) -> float:
    """Share of an hour that warm-up and cool-down take: starts x (1 min + 3 min)/60.

    Parameters
    ----------
    engine_starts_per_hour : float
        Starts of the engine [1/h]

    Returns
    -------
    float
        Share of an hour, 0 or more [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Source: common practice, no source (sizing/tables/duty_rules.csv).
    """
    rule = table("duty_rules")
    minutes = rule.at("value", "warm_up") + rule.at("value", "cool_down")
    return engine_starts_per_hour * float(minutes) / 60


def _write(trace: Trace, profile: DutyProfile, share: float) -> None:
    trace.add("duty", f"The day: {profile.basis}", source_line("duty_rules"))
    if share:
        line = f"Warm-up and cool-down take {100 * share:.0f} % of an hour, in pauses only"
        trace.add("duty", line, str(table("duty_rules").at("source", "cool_down")))
    for kw, hours in profile.levels:
        trace.add("duty", f"{kw:.2f} kW for {hours:.2f} h a day", "sum of the loads that run")
    energy = sum(kw * hours for kw, hours in profile.levels)
    line = f"Mean = {energy:.1f} kWh / {profile.running_hours:.2f} h = {profile.mean_kw:.2f} kW"
    trace.add("duty", line, str(table("duty_rules").at("source", "light_load")))
