"""Where a ZIP is: place, county, state, coordinates and zone; what its state says of the air."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from datetime import date
from functools import lru_cache
from typing import NamedTuple

from sizing.conversions import FOOT_M
from sizing.errors import SizingError
from sizing.requirement import Band
from sizing.tables import table

EARTH_RADIUS_KM = 6371.0088  # mean radius, IUGG
ZIP = re.compile(r"(\d{5})(?:-\d{4})?")


class PlaceRefused(SizingError):
    """A ZIP names no place a set could be sent to."""

    code = "place_refused"

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message


class Place(NamedTuple):
    """A ZIP's post office: where a site with no better coordinates is taken to be."""

    zip: str
    city: str
    county: str
    state: str
    latitude_deg: float
    longitude_deg: float
    timezone: str


@lru_cache(maxsize=8192)
def place(zip_code: str) -> Place:
    """Place of a US ZIP, offline.

    Parameters
    ----------
    zip_code : str
        Five digits, or ZIP+4 [-]

    Returns
    -------
    Place
        City, county, state, coordinates [deg] and zone.

    Raises
    ------
    PlaceRefused
        ``zip_malformed``, ``zip_unknown`` or ``zip_military``, with a sentence that says what
        to do.

    Notes
    -----
    Coordinates are those of the ZIP, some miles from the site in wide country. The first call
    reads the list (about 0.3 s), each new ZIP then costs about a millisecond, a known one nothing.

    Source: the zipcodes package.
    """
    import zipcodes

    match = ZIP.fullmatch(zip_code.strip())
    if match is None:
        raise PlaceRefused("zip_malformed", f"Write the ZIP as five digits, not {zip_code!r}.")
    found = zipcodes.matching(match[1])  # type: ignore[no-untyped-call]
    if not found:
        raise PlaceRefused("zip_unknown", f"There is no ZIP {match[1]}; check its digits.")
    return _place(found[0])


def _place(row: dict[str, str]) -> Place:
    if row["zip_code_type"] == "MILITARY" or not row["timezone"]:
        raise PlaceRefused(
            "zip_military", f"ZIP {row['zip_code']} is a military post: give the ZIP of the site."
        )
    return Place(
        row["zip_code"], row["city"], row["county"], row["state"],
        float(row["lat"]), float(row["long"]), row["timezone"],
    )  # fmt: skip


def altitude_range(state: str) -> Band:
    """Lowest, mean and highest ground of a state [m].

    Parameters
    ----------
    state : str
        Two letters, ``CO``; territories included [-]

    Returns
    -------
    Band
        Altitude [m], summits included: an honest bound, not an estimate of the site.

    Raises
    ------
    TableRefused
        The state is not in the table.

    Source: sizing/tables/state_altitude.csv, from memory.
    """
    row = table("state_altitude").row(state)
    low, mean, high = (FOOT_M * row[c] for c in ("lowest_ft", "mean_ft", "highest_ft"))
    return Band(low, mean, high, f"ground of {state} from its lowest to its highest point")


def ambient_range(state: str, months: Iterable[int]) -> Band:
    """Usual and hottest afternoons of a state, coldest night too, over some months [deg C].

    T(month) = (January + July)/2 + (July - January)/2 cos(2 pi (month - 7)/12), for each of
    cold night, usual afternoon and hottest afternoon.

    Parameters
    ----------
    state : str
        Two letters, ``CO`` [-]
    months : iterable of int
        Months of the hire, 1 to 12, at least one [-]

    Returns
    -------
    Band
        Coldest night, usual afternoon of the hottest month, hottest afternoon [deg C].

    Raises
    ------
    TableRefused
        The state is not in the table.
    ValueError
        No month is given.

    Notes
    -----
    Rounded outward over the whole state. A rating falls with heat alone, so the likely value is
    that of the hottest month.

    Source: sizing/tables/state_ambient.csv, from memory.
    """
    row, wanted = table("state_ambient").row(state), tuple(months)
    return Band(
        min(_month_c(row["january_cold_c"], row["july_cold_c"], m) for m in wanted),
        max(_month_c(row["january_usual_c"], row["july_usual_c"], m) for m in wanted),
        max(_month_c(row["january_warm_c"], row["july_hot_c"], m) for m in wanted),
        f"air of {state} in the months of the hire",
    )


def usual_afternoon_c(state: str, month: int) -> float:
    """Usual afternoon of one month in a state [deg C].

    Parameters
    ----------
    state : str
        Two letters [-]
    month : int
        1 to 12 [-]

    Returns
    -------
    float
        Usual afternoon [degC]

    Raises
    ------
    TableRefused
        The state is not in the table.

    Source: sizing/tables/state_ambient.csv, from memory.
    """
    return ambient_range(state, (month,)).likely


def _month_c(january_c: float, july_c: float, month: int) -> float:
    swing = math.cos(2 * math.pi * (month - 7) / 12)
    return (january_c + july_c) / 2 + (july_c - january_c) / 2 * swing


def months_between(start: date, end: date) -> tuple[int, ...]:
    """Months that a hire touches, each once, ascending.

    Parameters
    ----------
    start, end : date
        First and last day [-]

    Returns
    -------
    tuple of int
        1 to 12, at most twelve of them [-]

    Raises
    ------
    TypeError
        Not dates.

    Source: the calendar.
    """
    first, last = start.year * 12 + start.month - 1, end.year * 12 + end.month - 1
    return tuple(sorted({m % 12 + 1 for m in range(first, min(last, first + 11) + 1)}))


def distance_km(zip_a: str, zip_b: str) -> float:
    """Great-circle distance between two ZIPs [km].

    Parameters
    ----------
    zip_a, zip_b : str
        Two ZIPs [-]

    Returns
    -------
    float
        Distance between their coordinates [km]

    Raises
    ------
    PlaceRefused
        Either ZIP names no place.

    Source: haversine formula.
    """
    a, b = place(zip_a), place(zip_b)
    return great_circle_km(a.latitude_deg, a.longitude_deg, b.latitude_deg, b.longitude_deg)


def great_circle_km(
    latitude_a_deg: float, longitude_a_deg: float, latitude_b_deg: float, longitude_b_deg: float
) -> float:
    """Great-circle distance [km] by the haversine formula.

    d = 2 R asin sqrt(sin2((b - a)/2) + cos a cos b sin2((l_b - l_a)/2)), R = 6371.0088 km.

    Parameters
    ----------
    latitude_a_deg, latitude_b_deg : float
        Latitudes a and b [deg], -90 to 90.
    longitude_a_deg, longitude_b_deg : float
        Longitudes l_a and l_b [deg], -180 to 180.

    Returns
    -------
    float
        Distance over a sphere [km]; a road is longer, usually by a quarter.

    Raises
    ------
    TypeError
        Not numbers.

    Examples
    --------
    >>> round(great_circle_km(36.12, -86.67, 33.94, -118.40), 1)
    2886.4

    Source: haversine formula; mean earth radius of the IUGG.
    """
    a, b = math.radians(latitude_a_deg), math.radians(latitude_b_deg)
    across = math.radians(longitude_b_deg - longitude_a_deg)
    part = math.sin((b - a) / 2) ** 2 + math.cos(a) * math.cos(b) * math.sin(across / 2) ** 2
    return 2 * EARTH_RADIUS_KM * math.asin(min(1.0, math.sqrt(part)))
