"""Chapter 9: when it is dark at the site."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import NamedTuple

SAMPLE_EVERY_DAYS = 7  # sunset moves by less than 15 min a week below the polar circles


class Night(NamedTuple):
    """Dark time of one day in the site's local clock; ``polar`` is "", "day" or "night"."""

    day: date
    sunset_h: float
    dark_h: float
    polar: str = ""


@lru_cache(maxsize=4096)
def night(latitude_deg: float, longitude_deg: float, timezone: str, day: date) -> Night:
    """Dark time from sunset to the next sunrise.

    Parameters
    ----------
    latitude_deg : float
        North positive [deg], -90 to 90.
    longitude_deg : float
        East positive [deg], -180 to 180.
    timezone : str
        Zone of the site, ``America/Denver`` [-]
    day : date
        Day of the sunset in the site's zone [-]

    Returns
    -------
    Night
        Sunset [h of the local clock] and hours until sunrise [h]. In the polar day 0 h dark, in
        the polar night 24 h from noon.

    Raises
    ------
    KeyError
        The zone is not known (``zoneinfo.ZoneInfoNotFoundError``).

    Notes
    -----
    The sun is asked in the site's zone, since in UTC the sunset of a western site falls on another
    day. The sun counts as down when its upper edge passes the horizon (0.833 deg); lamps are
    needed a little later, so this is conservative. Where the sun sets after midnight by the clock
    the hour of the sunset before is taken. The length of the night is counted to the sunrise of the
    same date, which is that of the next within three minutes.

    Examples
    --------
    >>> tonight = night(38.9, -77.0, "America/New_York", date(2018, 12, 9))
    >>> f"{tonight.sunset_h:.2f} {tonight.dark_h:.1f}"
    '16.76 14.5'

    Source: sunset by the astral package, compared with US Naval Observatory times.
    """
    from zoneinfo import ZoneInfo

    from astral import Observer
    from astral.sun import elevation, noon, sunrise, sunset

    where, zone = Observer(latitude_deg, longitude_deg), ZoneInfo(timezone)
    try:
        down, up = sunset(where, day, tzinfo=zone), sunrise(where, day, tzinfo=zone)
    except ValueError:
        high = elevation(where, noon(where, day, tzinfo=zone)) > 0
        return Night(day, 12.0, 0.0, "day") if high else Night(day, 12.0, 24.0, "night")
    return Night(day, clock_h(down), (clock_h(up) - clock_h(down)) % 24)


def clock_h(moment: datetime) -> float:
    """Hour of the clock as a decimal [h], 0 to under 24.

    Parameters
    ----------
    moment : datetime
        Any time [-]

    Returns
    -------
    float
        Hour of its clock [h]

    Raises
    ------
    AttributeError
        ``moment`` is not a time.

    Source: the calendar.
    """
    return moment.hour + moment.minute / 60 + moment.second / 3600


def hire_nights(
    latitude_deg: float, longitude_deg: float, timezone: str, start: date, end: date
) -> tuple[Night, ...]:
    """Nights of a hire, one a week and the last, enough to find the longest lighting time.

    Parameters
    ----------
    latitude_deg : float
        North positive [deg]
    longitude_deg : float
        East positive [deg]
    timezone : str
        Zone of the site [-]
    start, end : date
        First and last day [-]

    Returns
    -------
    tuple of Night
        One a week and the last [-]

    Raises
    ------
    KeyError
        The zone is not known.

    Source: sunset by the astral package.
    """
    return tuple(night(latitude_deg, longitude_deg, timezone, d) for d in sampled(start, end))


def sampled(start: date, end: date) -> Iterable[date]:
    """Each seventh day from start, then the end.

    Parameters
    ----------
    start, end : date
        First and last day [-]

    Returns
    -------
    iterable of date
        Days in order, the last one included [-]

    Raises
    ------
    TypeError
        Not dates.

    Source: common practice, no source.
    """
    for offset in range(0, (end - start).days, SAMPLE_EVERY_DAYS):
        yield start + timedelta(days=offset)
    yield end
