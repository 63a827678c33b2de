"""Chapter 9: power a pump takes, and whether rate and motor fit together."""

from __future__ import annotations

from sizing.conversions import FOOT_M, GALLON_L
from sizing.tables import table


def _rule(name: str) -> float:
    return float(table("pump_rules").at("value", name))


def water_hp(flow_l_s: float, head_m: float, specific_gravity: float = 1.0) -> float:
    """Power that the water takes up [hp].

    hp = gal/min x ft x SG / 3956.

    Parameters
    ----------
    flow_l_s : float
        Flow, 0 or more [L/s]
    head_m : float
        Total head, friction included, 0 or more [m]
    specific_gravity : float
        1 for clean water, more with mud [-]

    Returns
    -------
    float
        Water power [hp]

    Raises
    ------
    TableRefused
        The table is damaged.

    Examples
    --------
    200 gal/min against 100 ft:

    >>> round(water_hp(200 * GALLON_L / 60, 100 * FOOT_M), 2)
    5.06

    Source: GEMI water planner, water horsepower (sizing/tables/pump_rules.csv).
    """
    gal_min, feet = flow_l_s * 60 / GALLON_L, head_m / FOOT_M
    return gal_min * feet * specific_gravity / _rule("foot_gallons")


def shaft_hp(
    flow_l_s: float, head_m: float, specific_gravity: float = 1.0, efficiency: float | None = None
) -> float:
    """Power that the pump's shaft takes [hp]: water power over the pump's efficiency.

    Parameters
    ----------
    flow_l_s : float
        Flow, 0 or more [L/s]
    head_m : float
        Total head, 0 or more [m]
    specific_gravity : float
        1 for clean water [-]
    efficiency : float or None
        Of the pump, above 0 to 1; 0.6 where not known [-]

    Returns
    -------
    float
        Shaft power [hp]

    Raises
    ------
    ZeroDivisionError
        The efficiency is zero.

    Examples
    --------
    >>> round(shaft_hp(200 * GALLON_L / 60, 100 * FOOT_M), 2)
    8.43

    Source: GEMI water planner, water horsepower and rough efficiency.
    """
    share = _rule("usual_efficiency") / 100 if efficiency is None else efficiency
    return water_hp(flow_l_s, head_m, specific_gravity) / share


def implied_head_m(motor_hp: float, flow_l_s: float) -> float:
    """Head against which a motor could move a flow at the usual efficiency [m].

    H = hp x 0.6 x 3956 / (gal/min).

    Parameters
    ----------
    motor_hp : float
        Rated power [hp]
    flow_l_s : float
        Flow, above 0 [L/s]

    Returns
    -------
    float
        Head [m]

    Raises
    ------
    ZeroDivisionError
        There is no flow.

    Source: the shaft power solved for the head.
    """
    return motor_hp / shaft_hp(flow_l_s, 1.0)


def rate_is_plausible(motor_hp: float, flow_l_s: float) -> bool:
    """Whether a pump of this motor can be one that moves this flow.

    Parameters
    ----------
    motor_hp : float
        Rated power [hp]
    flow_l_s : float
        Flow, above 0 [L/s]

    Returns
    -------
    bool
        True where the implied head lies between 1 m and 200 m [-]

    Raises
    ------
    ZeroDivisionError
        There is no flow.

    Examples
    --------
    15 hp move 12.6 L/s, but neither a hundred times that nor a fortieth:

    >>> rate_is_plausible(15, 12.6), rate_is_plausible(15, 1260), rate_is_plausible(15, 0.3)
    (True, False, False)

    Source: common practice, no source (sizing/tables/pump_rules.csv).
    """
    return _rule("least_head") <= implied_head_m(motor_hp, flow_l_s) <= _rule("most_head")
