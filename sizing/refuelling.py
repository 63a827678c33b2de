"""Chapter 9: how long a tank lasts and when the fuel truck comes over a hire."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, timedelta

from sizing.requirement import Hire

HOURS_A_DAY = 24.0
Burns = Sequence[tuple[float, float]]  # litres an hour, hours a day


def autonomy_h(usable_l: float, burns: Burns, l_per_day: float) -> float:
    """Clock hours until the usable fuel is gone, the busiest hours first [h].

    Parameters
    ----------
    usable_l : float
        Usable fuel [L].
    burns : sequence of (float, float), shape (n, 2)
        Burn [L/h] and its hours a day [h].
    l_per_day : float
        Sum over the day [L].

    Returns
    -------
    float
        Hours [h]; infinite where nothing burns.

    Raises
    ------
    TypeError
        Not numbers.

    Source: common practice, no source.
    """
    if l_per_day <= 0:
        return math.inf
    days = int(usable_l / l_per_day + 1e-9)
    left_l, hours = max(0.0, usable_l - days * l_per_day), days * HOURS_A_DAY
    for burn, span_h in sorted(burns, reverse=True):
        taken_l = min(left_l, burn * span_h)
        hours, left_l = hours + taken_l / burn, left_l - taken_l
    return hours


def burnt_l(burns: Burns, l_per_day: float, interval_h: float) -> float:
    """Most fuel that an interval can take, the busiest hours of its last day first [L].

    Parameters
    ----------
    burns : sequence of (float, float), shape (n, 2)
        Burn [L/h] and its hours a day [h]
    l_per_day : float
        Sum over the day [L]
    interval_h : float
        Clock hours, 0 or more [h]

    Returns
    -------
    float
        Fuel [L]

    Raises
    ------
    TypeError
        Not numbers.

    Source: common practice, no source.
    """
    days, rest_h = divmod(interval_h, HOURS_A_DAY)
    litres = days * l_per_day
    for burn, span_h in sorted(burns, reverse=True):
        litres += burn * min(span_h, rest_h)
        rest_h -= min(span_h, rest_h)
    return litres


def planned_interval_h(wanted_h: float, lasts_h: float) -> float:
    """Longest whole multiple of the wanted interval that the tank covers [h].

    Parameters
    ----------
    wanted_h : float
        Interval the customer wants, above 0 [h]
    lasts_h : float
        Autonomy of the tank [h]

    Returns
    -------
    float
        Interval planned [h]

    Raises
    ------
    ZeroDivisionError
        The wanted interval is zero.

    Source: common practice, no source.
    """
    return wanted_h if math.isinf(lasts_h) else wanted_h * max(1, int(lasts_h / wanted_h + 1e-9))


def hire_days(hire: Hire | None) -> int:
    """Days of a hire, both ends counted; 0 without a hire.

    Parameters
    ----------
    hire : Hire or None
        First and last day [-]

    Returns
    -------
    int
        Days [d]

    Raises
    ------
    TypeError
        Not dates.

    Source: the calendar.
    """
    return (hire.end - hire.start).days + 1 if hire else 0


def visits(hire: Hire | None, every_h: float) -> int:
    """Visits of the fuel truck over a hire that starts with a full tank.

    Parameters
    ----------
    hire : Hire or None
        First and last day [-]
    every_h : float
        Planned interval, above 0 [h]

    Returns
    -------
    int
        Visits, 0 or more [-]

    Raises
    ------
    ZeroDivisionError
        The interval is zero.

    Source: common practice, no source.
    """
    return max(0, math.ceil(hire_days(hire) * HOURS_A_DAY / every_h - 1e-9) - 1)


def refuel_dates(hire: Hire, every_h: float) -> tuple[date, ...]:
    """Days on which the fuel truck comes; a day twice where it comes twice.

    Parameters
    ----------
    hire : Hire
        First and last day [-]
    every_h : float
        Planned interval, above 0 [h]

    Returns
    -------
    tuple of date, shape (visits,)
        Days from the first morning on [-]

    Raises
    ------
    ZeroDivisionError
        The interval is zero.

    Examples
    --------
    >>> [d.day for d in refuel_dates(Hire(date(2027, 6, 1), date(2027, 6, 7)), 48.0)]
    [3, 5, 7]

    Source: common practice, no source.
    """
    return tuple(
        hire.start + timedelta(days=int(count * every_h // HOURS_A_DAY))
        for count in range(1, visits(hire, every_h) + 1)
    )
