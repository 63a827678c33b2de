"""Chapter 9: fuel of a set by its quarter-load points, tank, and the refuelling over a hire."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from sizing.conversions import GALLON_L
from sizing.duty import DutyProfile
from sizing.fleet import GeneratorSet
from sizing.refuelling import autonomy_h, burnt_l, hire_days, planned_interval_h, visits
from sizing.requirement import Requirement
from sizing.tables import source_line, table
from sizing.trace import Trace

Points = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class FuelPlan:
    """Fuel of one set over one profile.

    ``autonomy_h`` is counted by the clock from a full tank at the start of the busiest hours;
    ``refuel_every_h`` is the planned interval; ``extra_tank_l`` what the base tank lacks for it.
    """

    l_per_day: float
    autonomy_h: float
    light_hours_share: float  # share of running hours under 30 % load
    needs_auxiliary_tank: bool
    refuel_every_h: float
    refuel_visits: int
    mean_load_percent: float  # ISO 8528-1 mean, loads under 30 % counted as 30 %
    extra_tank_l: float = 0.0
    hire_l: float = 0.0  # over the whole hire, 0 without one


def burn_l_h(set_: GeneratorSet, load_kw: float) -> float:
    """Fuel burnt at a load [L/h].

    Straight lines between the quarter-load points; below a quarter load the line from half to
    quarter load goes on down to idle, above full load the last line goes on up.

    Parameters
    ----------
    set_ : GeneratorSet
        Its points [L/h] at 25, 50, 75 and 100 % of prime power, or the chart's where all are 0.
    load_kw : float
        Load [kW], 0 or more.

    Returns
    -------
    float
        Fuel [L/h].

    Raises
    ------
    OutsideTable
        The set has no points of its own and is outside the chart.

    Notes
    -----
    Burn follows the engine's power nearly on a straight line, so idle by extension is a little
    high and the plan a little conservative. It needs 2 x quarter > half load burn; a fleet record
    that breaks this is refused where it is read.

    Source: the set's record, else sizing/tables/fuel_chart.csv.
    """
    points, quarters = fuel_points(set_), 4 * load_kw / set_.prime_kw
    place = min(max(int(quarters), 1), 3)
    low = points[place - 1]
    return low + (quarters - place) * (points[place] - low)


def fuel_points(set_: GeneratorSet) -> Points:
    """Fuel at 25, 50, 75 and 100 % of prime power [L/h]: the set's own, else the chart's.

    Parameters
    ----------
    set_ : GeneratorSet
        The set [-]

    Returns
    -------
    tuple of float, shape (4,)
        Fuel at the quarter loads [L/h]

    Raises
    ------
    OutsideTable
        Neither the record nor the chart holds them.

    Source: the set's record, else sizing/tables/fuel_chart.csv.
    """
    return set_.fuel_l_h if set_.fuel_l_h[3] > 0 else chart_points(set_.prime_kw)


@lru_cache(maxsize=512)
def chart_points(prime_kw: float) -> Points:
    """Fuel of a usual set at its quarter loads [L/h], between rows on a straight line.

    Parameters
    ----------
    prime_kw : float
        Prime power [kW], 20 to 2,250.

    Returns
    -------
    tuple of float, shape (4,)
        At 25, 50, 75 and 100 % [L/h].

    Raises
    ------
    OutsideTable
        Outside the chart.

    Source: sizing/tables/fuel_chart.csv.
    """
    chart = table("fuel_chart")
    q, h, t, f = (chart.between(c, prime_kw) for c in chart.columns[1:])
    return q, h, t, f


def engine_burn_gal_h(engine_hp: float, load_factor: float) -> float:
    """Fuel by the planning rate of an engine [gal/h]: hp x load factor x 0.36/7.

    Parameters
    ----------
    engine_hp : float
        Rated power [bhp].
    load_factor : float
        Mean load as a share of it, 0 to 1 [-]

    Returns
    -------
    float
        Fuel [gal/h]: a check on a set's record by another way, not used in the plan.

    Raises
    ------
    TypeError
        Not numbers.

    Examples
    --------
    >>> round(engine_burn_gal_h(134, 0.75), 2)
    5.17

    Source: USACE EP 1110-1-8 Vol. 10 (2003), fuel factor page.
    """
    rule = table("fuel_rules")
    return (
        engine_hp
        * load_factor
        * float(rule.at("value", "planning_rate") / rule.at("value", "diesel_mass"))
    )


def exhaust_fluid_l(fuel_l: float) -> tuple[float, float]:
    """Exhaust fluid that an engine with after-treatment takes along with fuel [L]: 2 to 5 %.

    Parameters
    ----------
    fuel_l : float
        Fuel, 0 or more [L]

    Returns
    -------
    tuple of float, shape (2,)
        Low and high [L]

    Raises
    ------
    TableRefused
        The table is damaged.

    Examples
    --------
    In gallons for 98.4 gal of fuel:

    >>> [round(part, 2) for part in exhaust_fluid_l(98.4)]
    [1.97, 4.92]

    Source: sizing/tables/fuel_rules.csv.
    """
    rule = table("fuel_rules")
    low, high = (rule.at("value", name) / 100 for name in ("def_low", "def_high"))
    return fuel_l * low, fuel_l * high


def mean_load_percent(levels: Iterable[tuple[float, float]], rating_kw: float) -> float:
    """Mean load over running hours [% of rating], small loads entered as 30 %.

    Parameters
    ----------
    levels : iterable of (float, float), shape (n, 2)
        Load [kW] and its hours a day [h]; standstill is not among them.
    rating_kw : float
        Prime power at the site [kW], above 0.

    Returns
    -------
    float
        Mean [%]; 0 where nothing runs.

    Raises
    ------
    ZeroDivisionError
        The rating is zero.

    Examples
    --------
    >>> mean_load_percent(((90, 6), (60, 10), (20, 8)), 100)
    57.5

    Source: ISO 8528-1, actual average power.
    """
    floor_kw, work_kwh, hours = light_share() * rating_kw, 0.0, 0.0
    for load_kw, load_h in levels:
        work_kwh += max(load_kw, floor_kw) * load_h
        hours += load_h
    return 100 * work_kwh / hours / rating_kw if hours else 0.0


@lru_cache(maxsize=1)
def light_share() -> float:
    """Share of the rating below which a load is light: 0.3.

    Returns
    -------
    float
        Share [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Source: ISO 8528-1 (sizing/tables/duty_rules.csv).
    """
    return float(table("duty_rules").at("value", "light_load")) / 100


def fuel_plan(
    set_: GeneratorSet,
    profile: DutyProfile,
    requirement: Requirement,
    site_kw: float,
    trace: Trace | None = None,
) -> FuelPlan:
    """Fuel a day, how long the base tank lasts, and the refuelling over the hire.

    Fuel a day = sum of burn x hours over the load levels. The tank lasts whole days while it
    holds a day's fuel, then the busiest hours of the next.

    Parameters
    ----------
    set_ : GeneratorSet
        Its fuel points and base tank [L].
    profile : DutyProfile
        Load levels of the day [-]
    requirement : Requirement
        Refuel interval [h] and the hire.
    site_kw : float
        Prime power at the site [kW], above 0.
    trace : Trace or None
        Where the lines go [-]

    Returns
    -------
    FuelPlan
        Fuel [L/day], autonomy [h], light share, refuelling, mean load [%].

    Raises
    ------
    OutsideTable
        The set has no fuel points and is outside the chart.

    Notes
    -----
    The set goes out with a full base tank. Taking the busiest hours first makes the autonomy the
    shortest that any order of the day could give.

    Source: the set's record; ISO 8528-1 for the mean.
    """
    burns = [(burn_l_h(set_, kw), hours) for kw, hours in profile.levels]
    l_per_day = sum(burn * hours for burn, hours in burns)
    usable_l = set_.tank_l * set_.usable_tank_fraction
    wanted_h = requirement.site.refuel_every_h.likely
    lasts_h = autonomy_h(usable_l, burns, l_per_day)
    short = lasts_h < wanted_h
    every_h = wanted_h if short else planned_interval_h(wanted_h, lasts_h)
    plan = FuelPlan(
        l_per_day,
        lasts_h,
        light_hours_share(profile, site_kw),
        short,
        every_h,
        visits(requirement.hire, every_h),
        mean_load_percent(profile.levels, site_kw),
        max(0.0, burnt_l(burns, l_per_day, wanted_h) - usable_l) if short else 0.0,
        l_per_day * hire_days(requirement.hire),
    )
    if trace:
        _write(trace, set_, profile, plan, site_kw)
    return plan


def light_hours_share(profile: DutyProfile, site_kw: float) -> float:
    """Share of running hours under 30 % of the site rating, 0 to 1.

    Parameters
    ----------
    profile : DutyProfile
        Load levels [kW, h]
    site_kw : float
        Prime power at the site [kW]

    Returns
    -------
    float
        Share of running hours [-]

    Raises
    ------
    TypeError
        Not numbers.

    Source: ISO 8528-1.
    """
    floor_kw = light_share() * site_kw
    light_h = sum(hours for kw, hours in profile.levels if kw < floor_kw)
    return light_h / profile.running_hours if profile.running_hours else 0.0


def _write(
    trace: Trace, set_: GeneratorSet, profile: DutyProfile, plan: FuelPlan, site_kw: float
) -> None:
    """Lines of the plan as an engineer would write them."""
    own = set_.fuel_l_h[3] > 0
    source = "the set's record" if own else source_line("fuel_chart")
    for kw, hours in profile.levels:
        burn = burn_l_h(set_, kw)
        line = f"{kw:.2f} kW of {set_.prime_kw:g} kW burns {burn:.2f} L/h x {hours:.2f} h"
        trace.add("fuel", f"{line} = {burn * hours:.1f} L", source)
    usable_l = set_.tank_l * set_.usable_tank_fraction
    daily = f"{plan.l_per_day:.1f} L/day = {plan.l_per_day / GALLON_L:.1f} gal/day"
    trace.add("fuel", f"Fuel = {daily}", "sum of the lines above")
    tank = f"{set_.tank_l:g} L x {set_.usable_tank_fraction:g} = {usable_l:.1f} L"
    line = f"Usable tank = {tank}, lasts {plan.autonomy_h:.1f} h from the busiest hour"
    trace.add("fuel", line, "the set's record")
    mean = f"Mean load = {plan.mean_load_percent:.1f} % of {site_kw:.1f} kW over running hours"
    trace.add("fuel", mean, str(table("duty_rules").at("source", "light_load")))
    low_l, high_l = exhaust_fluid_l(plan.l_per_day)
    line = (
        f"Exhaust fluid, where the engine takes it = 2 to 5 % = {low_l:.1f} to {high_l:.1f} L/day"
    )
    trace.add("fuel", line, str(table("fuel_rules").at("source", "def_low")))
