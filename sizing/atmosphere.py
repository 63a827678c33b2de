"""Chapter 6: the air at the site: pressure and water vapour, by published formulas."""

from __future__ import annotations

import math
from functools import lru_cache

from sizing.errors import OutsideTable
from sizing.tables import table


@lru_cache(maxsize=64)
def standard_pressure_kpa(altitude_m: float) -> float:
    """Return the air pressure of the standard atmosphere at an altitude.

    Equation: p = p0 (1 - L z / T0)^n, the troposphere with its constant lapse rate L.

    Parameters
    ----------
    altitude_m : float
        Altitude z above sea level, -500 to 11,000 [m]

    Returns
    -------
    float
        Pressure p [kPa]

    Raises
    ------
    OutsideTable
        The altitude lies outside the layer that the formula describes.

    Notes
    -----
    A standard day: a weather low takes up to 3 % off, which the generic derating does not see.

    Source: standard_atmosphere (US Standard Atmosphere 1976 = ISO 2533, memory); its foot-pound
    form p = 14.696 (1 - 6.8754e-6 Z)^5.2559 psia with Z in feet was read.

    Examples
    --------
    >>> round(standard_pressure_kpa(5000 * 0.3048), 2)  # printed: 12.23 psia = 84.32 kPa
    84.31
    """
    air = _constants()
    low, high = air["lowest_altitude"], air["highest_altitude"]
    if not low <= altitude_m <= high:
        raise OutsideTable("standard_atmosphere", altitude_m, low, high, "m")
    cooling = air["lapse_rate"] * altitude_m / air["sea_level_temperature"]
    return float(air["sea_level_pressure"] * (1 - cooling) ** air["pressure_exponent"])


def standard_temperature_c(altitude_m: float) -> float:
    """Return the air temperature of the standard atmosphere at an altitude.

    Equation: T = T0 - L z.

    Parameters
    ----------
    altitude_m : float
        Altitude z above sea level, -500 to 11,000 [m]

    Returns
    -------
    float
        Temperature [degC]

    Raises
    ------
    OutsideTable
        The altitude lies outside the layer that the formula describes.

    Notes
    -----
    For reference only: a site's ambient is asked, never taken from here.

    Source: standard_atmosphere; its foot form t = 59 - 0.0035662 Z degF was read.

    Examples
    --------
    >>> round(standard_temperature_c(5000 * 0.3048) * 1.8 + 32, 1)  # printed: 41.2 degF
    41.2
    """
    air = _constants()
    standard_pressure_kpa(altitude_m)
    return float(air["sea_level_temperature"] - air["lapse_rate"] * altitude_m - 273.15)


def vapour_pressure_kpa(temperature_c: float) -> float:
    """Return the pressure of saturated water vapour.

    Equation: psx = 0.61094 exp(17.625 t / (t + 243.04)).

    Parameters
    ----------
    temperature_c : float
        Air temperature t, -40 to 60 [degC]

    Returns
    -------
    float
        Saturation pressure psx [kPa]

    Raises
    ------
    TableRefused
        The table of constants is damaged.

    Notes
    -----
    Within 0.4 % of the steam table over -40 to 50 degC.

    Source: engine_power_reference, Magnus rows (memory).

    Examples
    --------
    >>> round(vapour_pressure_kpa(25.0), 2)  # steam tables: 3.17 kPa
    3.16
    """
    scale, slope, offset = (
        table("engine_power_reference").at("value", f"vapour_pressure_{part}")
        for part in ("scale", "slope", "offset")
    )
    return float(scale * math.exp(slope * temperature_c / (temperature_c + offset)))


@lru_cache(maxsize=1)
def _constants() -> dict[str, float]:
    return {row["constant"]: row["value"] for row in table("standard_atmosphere").rows}
