"""Chapter 9: a pump on a float switch: how often it starts, and how often it may."""

from __future__ import annotations

import math
from typing import NamedTuple

from sizing.requirement import Sump
from sizing.tables import table


class StartAllowance(NamedTuple):
    """How often a motor may start an hour, the rest it needs, and what sets the limit."""

    starts_per_hour: float
    rest_s: float
    basis: str


def cycle_time_s(active_volume_l: float, pump_rate_l_s: float, inflow_l_s: float) -> float:
    """Time from one start of the pump to the next [s].

    t = (V/D) [1/(1 - Q/D) + 1/(Q/D)]: emptying and filling.

    Parameters
    ----------
    active_volume_l : float
        V, between start and stop level [L], above 0.
    pump_rate_l_s : float
        D, of the running pump [L/s], above 0.
    inflow_l_s : float
        Q [L/s], 0 or more.

    Returns
    -------
    float
        Cycle time [s]; infinite without inflow, or where the pump never catches up.

    Raises
    ------
    ZeroDivisionError
        The pump rate is zero.

    Notes
    -----
    Inflow and rate are taken as steady. In the same units of volume and time any units do.

    Examples
    --------
    300 gal, 200 gal/min, 100 gal/min, in gallons and minutes:

    >>> cycle_time_s(300, 200, 100)
    6.0

    Source: MIL-HDBK-1005/9A, 2.5.3.6, equation 1.
    """
    share = inflow_l_s / pump_rate_l_s
    if share <= 0 or share >= 1:
        return math.inf
    return active_volume_l / pump_rate_l_s * (1 / (1 - share) + 1 / share)


def worst_cycle_s(active_volume_l: float, pump_rate_l_s: float) -> float:
    """Shortest cycle over all inflows [s]: t = 4 V/D, at an inflow of half the pump rate.

    Parameters
    ----------
    active_volume_l : float
        V, above 0 [L]
    pump_rate_l_s : float
        D, above 0 [L/s]

    Returns
    -------
    float
        Shortest cycle [s]

    Raises
    ------
    ZeroDivisionError
        The pump rate is zero.

    Source: MIL-HDBK-1005/9A, 2.5.3.6.
    """
    return cycle_time_s(active_volume_l, pump_rate_l_s, pump_rate_l_s / 2)


def needed_volume_l(pump_rate_l_s: float, cycle_s: float, alternating_pumps: int = 1) -> float:
    """Active volume that keeps the shortest cycle [L]: V = t D/4, over pumps that take turns.

    Parameters
    ----------
    pump_rate_l_s : float
        D [L/s].
    cycle_s : float
        t, the shortest cycle one motor stands [s].
    alternating_pumps : int
        Pumps that take turns, 1 or more [-]

    Returns
    -------
    float
        Active volume [L].

    Raises
    ------
    ZeroDivisionError
        No pump takes turns.

    Notes
    -----
    Two equal pumps that take turns halve it; the source says so for stations under 700 gal/min.

    Source: UFC 3-240-04A, chapter 7.
    """
    return pump_rate_l_s * cycle_s / 4 / alternating_pumps


def poles_of(rpm: float | None) -> int:
    """Poles of a 60 Hz motor by its stamped speed; 2 where none is stamped.

    p = 2 floor(3600/n). Two poles allow the fewest starts, so an unknown speed counts as two.

    Parameters
    ----------
    rpm : float or None
        Stamped speed at full load, above 0 [1/min]

    Returns
    -------
    int
        Poles, 2 or more [-]

    Raises
    ------
    ZeroDivisionError
        The speed is zero.

    Examples
    --------
    >>> poles_of(1750), poles_of(3450), poles_of(None)
    (4, 2, 2)

    Source: synchronous speed n = 120 f/p.
    """
    return 2 if rpm is None else max(2, 2 * int(3600 / rpm))


def start_allowance(
    hp: float, poles: int, load_inertia_lb_ft2: float | None = None
) -> StartAllowance:
    """Starts an hour that a design A or B motor stands.

    min(A, B/Wk2) by the motor table, and not more than the shortest wet-well cycle of its size.

    Parameters
    ----------
    hp : float
        Rated power [hp], up to 250; between rows the larger row, which allows less.
    poles : int
        2, 4 or 6; more poles count as 6 [-]
    load_inertia_lb_ft2 : float or None
        Wk2 of the load [lb ft2]; a pump's is small, and without it A alone counts.

    Returns
    -------
    StartAllowance
        Starts [1/h], rest [s] and what sets the limit.

    Raises
    ------
    OutsideTable
        More than 250 hp: the motor maker decides.

    Source: NEMA MG 10 table 7; UFC 3-240-04A table 7-1.
    """
    by_motor = motor_starts(hp, poles, load_inertia_lb_ft2)
    by_well = 60 / table("wet_well_cycle").at_least(hp)["min_cycle_min"]
    if by_well < by_motor.starts_per_hour:
        return StartAllowance(by_well, by_motor.rest_s, "wet_well_cycle")
    return by_motor


def motor_starts(hp: float, poles: int, load_inertia_lb_ft2: float | None = None) -> StartAllowance:
    """Starts an hour by the motor table alone.

    Parameters
    ----------
    hp : float
        Rated power [hp], up to 250.
    poles : int
        2, 4 or 6; more poles count as 6 [-]
    load_inertia_lb_ft2 : float or None
        Wk2 of the load [lb ft2], above 0.

    Returns
    -------
    StartAllowance
        min(A, B/Wk2) [1/h] and rest C [s].

    Raises
    ------
    OutsideTable
        More than 250 hp.

    Examples
    --------
    >>> motor_starts(25, 4, 50)
    StartAllowance(starts_per_hour=2.44, rest_s=58.0, basis='motor_starts')

    Source: NEMA MG 10 table 7.
    """
    row, column = table("motor_starts").at_least(hp), f"{min(poles, 6)}pole"
    starts = row[f"starts_{column}_per_h"]
    if load_inertia_lb_ft2 is not None:
        starts = min(starts, row[f"inertia_{column}_lb_ft2_per_h"] / load_inertia_lb_ft2)
    return StartAllowance(starts, row[f"rest_{column}_s"], "motor_starts")


class PumpDuty(NamedTuple):
    """How the pumps of one sump run: some all the time, one on and off, the others stand by.

    ``through`` pieces run without a pause, the next runs ``duty`` of the time and starts
    ``starts_per_hour`` times; ``worst_starts_per_hour`` is that of one motor at the worst inflow.
    """

    through: int
    duty: float
    starts_per_hour: float
    worst_starts_per_hour: float | None
    volume_l: float | None
    assumed: str = ""
    overrun: bool = False


def pump_duty(sump: Sump | None, pumps: int, cycle_s: float | None = None) -> PumpDuty:
    """How a sump's pumps run at its inflow.

    Q/D pumps are needed: the whole ones run through, the next cycles with the rest of the inflow.

    Parameters
    ----------
    sump : Sump or None
        Inflow Q and rate D of one pump [L/s], active volume V [L]; what is ``None`` is assumed.
    pumps : int
        Equal pumps on float switches, 1 or more [-]
    cycle_s : float or None
        Shortest cycle the motors stand [s], taken where the volume is not given.

    Returns
    -------
    PumpDuty
        Running pumps, duty (0 to 1), starts [1/h].

    Raises
    ------
    ZeroDivisionError
        The pump rate is zero.

    Notes
    -----
    Without inflow or rate all pumps count as running all the time: fuel, hours and mean load are
    then never too low, and starts are judged at the worst inflow. Without a volume the sump is
    taken as just large enough for the motors, and the answer says how large that is.

    Source: MIL-HDBK-1005/9A, 2.5.3.6; UFC 3-240-04A, chapter 7.
    """
    sump = sump or Sump()
    turns = pumps if sump.alternating else 1
    volume_l, assumed = settled_volume(sump, turns, cycle_s)
    worst = worst_starts(sump, volume_l, turns)
    if sump.inflow_l_s is None or sump.pump_rate_l_s is None:
        why = "inflow or pump rate not given: all pumps counted as running all the time"
        return PumpDuty(pumps, 0.0, 0.0, worst, volume_l, why)
    needed = sump.inflow_l_s / sump.pump_rate_l_s
    through = min(int(needed), pumps)
    duty = needed - through if through < pumps else 0.0
    starts = starts_at(volume_l, sump.pump_rate_l_s, duty)
    return PumpDuty(through, duty, starts, worst, volume_l, assumed, needed >= pumps)


def settled_volume(sump: Sump, turns: int, cycle_s: float | None) -> tuple[float | None, str]:
    """Active volume [L] given or assumed, and the assumption in words.

    Parameters
    ----------
    sump : Sump
        What was said of it [-]
    turns : int
        Pumps that take turns, 1 or more [-]
    cycle_s : float or None
        Shortest cycle the motors stand [s]

    Returns
    -------
    tuple of float or None, str
        Volume [L] and the assumption, empty where none

    Raises
    ------
    ZeroDivisionError
        No pump takes turns.

    Source: UFC 3-240-04A, chapter 7.
    """
    if sump.active_volume_l is not None or sump.pump_rate_l_s is None or cycle_s is None:
        return sump.active_volume_l, ""
    volume_l = needed_volume_l(sump.pump_rate_l_s, cycle_s, turns)
    return volume_l, f"sump taken to hold {volume_l:.0f} L between stop and start level"


def worst_starts(sump: Sump, volume_l: float | None, turns: int) -> float | None:
    """Starts an hour of one motor at the worst inflow [1/h]; ``None`` where it cannot be known.

    Parameters
    ----------
    sump : Sump
        Its pump rate [L/s]
    volume_l : float or None
        Active volume [L]
    turns : int
        Pumps that take turns, 1 or more [-]

    Returns
    -------
    float or None
        Starts [1/h]

    Raises
    ------
    ZeroDivisionError
        The pump rate is zero.

    Source: MIL-HDBK-1005/9A, 2.5.3.6.
    """
    if volume_l is None or sump.pump_rate_l_s is None:
        return None
    return 3600 / worst_cycle_s(volume_l, sump.pump_rate_l_s) / turns


def starts_at(volume_l: float | None, pump_rate_l_s: float, duty: float) -> float:
    """Starts an hour of the cycling pump at its share of the inflow [1/h]; 0 if unknown.

    Parameters
    ----------
    volume_l : float or None
        Active volume [L]
    pump_rate_l_s : float
        D, above 0 [L/s]
    duty : float
        Q/D of the cycling pump, 0 to 1 [-]

    Returns
    -------
    float
        Starts [1/h]

    Raises
    ------
    ZeroDivisionError
        The pump rate is zero.

    Source: MIL-HDBK-1005/9A, 2.5.3.6.
    """
    if volume_l is None:
        return 0.0
    return 3600 / cycle_time_s(volume_l, pump_rate_l_s, duty * pump_rate_l_s)
