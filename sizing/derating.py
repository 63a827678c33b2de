"""Chapter 6, underneath: the share of its rating that an engine or an alternator keeps."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from sizing.atmosphere import standard_pressure_kpa, vapour_pressure_kpa
from sizing.fleet import GeneratorSet
from sizing.tables import source_line, table

Points = tuple[tuple[float, float], ...]
KELVIN = 273.15


class Past(NamedTuple):
    """A condition past the end of the data: what was asked, and where the data end."""

    condition: str  # "altitude" or "ambient"
    value: float
    last: float
    unit: str


class Share(NamedTuple):
    """Share of rated power left, 0 to 1, how it came about, and where the data ended, if so."""

    factor: float
    shown: str
    source: str
    past: tuple[Past, ...] = ()


class Exponents(NamedTuple):
    """Exponents of one type of engine in the power adjustment of ISO 3046-1."""

    humidity_a: float
    pressure_m: float
    temperature_n: float
    coolant_s: float


def along(points: Points, value: float) -> float:
    """Return the factor at a value, straight lines between points.

    Below the first point the first factor holds; past the last one the last slope is carried on,
    never upwards and never below zero, and the caller says so.

    Parameters
    ----------
    points : tuple of (float, float)
        At least one pair of condition and factor, ascending [condition, -]
    value : float
        The condition [unit of the points]

    Returns
    -------
    float
        Factor, 0 to 1 [-]

    Raises
    ------
    IndexError
        There are no points.

    Notes
    -----
    A lower or cooler site than the first point is the easy side: the rating is not raised.

    Source: linear interpolation between the points of the set's record.

    Examples
    --------
    >>> along(((0.0, 1.0), (1000.0, 1.0), (3000.0, 0.8)), 2000.0)
    0.9
    """
    low_x, low_y = points[0]
    if value <= low_x:
        return min(low_y, 1.0)
    for high_x, high_y in points[1:]:
        if value <= high_x:
            return min(1.0, low_y + (value - low_x) / (high_x - low_x) * (high_y - low_y))
        low_x, low_y = high_x, high_y
    return _carried_on(points, value)


def _carried_on(points: Points, value: float) -> float:
    """Factor past the last point, along the last slope if it falls."""
    last_x, last_y = points[-1]
    if len(points) == 1:
        return min(last_y, 1.0)
    before_x, before_y = points[-2]
    slope = min(0.0, (last_y - before_y) / (last_x - before_x))
    return max(0.0, min(1.0, last_y + slope * (value - last_x)))


def engine_share(set_: GeneratorSet, altitude_m: float, ambient_c: float) -> Share:
    """Return the share of prime power that the engine keeps at a site.

    Equation: f = f_z f_t by the record's points; where a condition has no points, the ISO 3046-1
    factor with the other condition at reference, or of both at once where neither has points.

    Parameters
    ----------
    set_ : GeneratorSet
        The set's own record [-]
    altitude_m : float
        Altitude of the site [m]
    ambient_c : float
        Ambient at the set [degC]

    Returns
    -------
    Share
        Factor 0 to 1 and how it came about [-]

    Raises
    ------
    OutsideTable
        The altitude lies outside the standard atmosphere.
    TableRefused
        The record's aspiration has no exponents.

    Notes
    -----
    Source: the set's record, else ISO 3046-1 (engine_power_exponents).
    """
    return _engine(
        set_.engine_altitude_derate, set_.engine_ambient_derate, set_.aspiration,
        altitude_m, ambient_c,
    )  # fmt: skip


@lru_cache(maxsize=4096)
def _engine(
    heights: Points, heats: Points, aspiration: str, altitude_m: float, ambient_c: float
) -> Share:
    """As `engine_share`, remembered: sets of one family share their curves."""
    if not heights and not heats:
        return _iso_share(aspiration, altitude_m, ambient_c)
    return _both(
        _by_record(heights, "altitude", altitude_m, "m")
        if heights
        else _iso_share(aspiration, altitude_m, None),
        _by_record(heats, "ambient", ambient_c, "degC")
        if heats
        else _iso_share(aspiration, None, ambient_c),
    )


def alternator_share(set_: GeneratorSet, altitude_m: float, ambient_c: float) -> Share:
    """Return the share of rated kVA that the alternator keeps at a site.

    Equation: f = f_z f_t by the record's points, else f = 1 - loss (value - free) / step for each.

    Parameters
    ----------
    set_ : GeneratorSet
        The set's own record [-]
    altitude_m : float
        Altitude of the site [m]
    ambient_c : float
        Ambient at the set [degC]

    Returns
    -------
    Share
        Factor 0 to 1 and how it came about [-]

    Raises
    ------
    TableRefused
        The table of default losses is damaged.

    Notes
    -----
    Source: the set's record, else alternator_derate (NEMA MG 1 and IEC 60034-1 practice, memory).
    """
    return _alternator(
        set_.alternator_altitude_derate, set_.alternator_ambient_derate, altitude_m, ambient_c
    )


@lru_cache(maxsize=4096)
def _alternator(heights: Points, heats: Points, altitude_m: float, ambient_c: float) -> Share:
    """As `alternator_share`, remembered: sets of one family share their curves."""
    return _both(
        _by_record(heights, "altitude", altitude_m, "m")
        if heights
        else _default_alternator("altitude", altitude_m),
        _by_record(heats, "ambient", ambient_c, "degC")
        if heats
        else _default_alternator("ambient", ambient_c),
    )


def iso3046_factor(
    exponents: Exponents,
    pressure_kpa: float,
    temperature_k: float,
    *,
    coolant_k: float | None = None,
    mechanical_efficiency: float | None = None,
    humidity: float | None = None,
) -> float:
    """Return the power adjustment factor of an engine away from reference conditions.

    Equation: alpha = k - 0.7 (1 - k) (1 / eta_m - 1), with
    k = ((px - a phi_x psx) / (pr - a phi_r psr))^m (Tr / Tx)^n (Tcr / Tcx)^s.

    Parameters
    ----------
    exponents : Exponents
        a, m, n and s of the engine's type [-]
    pressure_kpa : float
        Site pressure px, above 0 [kPa]
    temperature_k : float
        Site air temperature Tx, 230 to 335 [K]
    coolant_k : float, optional
        Charge-air coolant temperature Tcx; the site air's where not given [K]
    mechanical_efficiency : float, optional
        eta_m; the table's 0.80 where not given [-]
    humidity : float, optional
        Relative humidity phi_x at the site, 0 to 1; the table's where not given [-]

    Returns
    -------
    float
        alpha, not capped: above 1 on a cold day at sea level [-]

    Raises
    ------
    ZeroDivisionError
        A temperature or the efficiency is zero.

    Notes
    -----
    An air-to-air charge cooler is cooled by the site's air, hence Tcx = Tx by default. A declared
    curve of the engine always goes before this general formula.

    Source: ISO 3046-1:2002 and ISO 15550:2002 power adjustment (memory).

    Examples
    --------
    >>> round(iso3046_factor(Exponents(0, 1, 1, 0), 84.31, 313), 4)  # k = 0.8027
    0.7682
    """
    given = _reference()
    eta = mechanical_efficiency or given["mechanical_efficiency"]
    wet = given["site_humidity"] if humidity is None else humidity
    k = (_dry_ratio(exponents.humidity_a, pressure_kpa, temperature_k, wet)) ** exponents.pressure_m
    k *= (given["reference_temperature"] / temperature_k) ** exponents.temperature_n
    coolant = temperature_k if coolant_k is None else coolant_k
    k *= (given["reference_coolant_temperature"] / coolant) ** exponents.coolant_s
    return float(k - given["friction_share"] * (1 - k) * (1 / eta - 1))


def _dry_ratio(a: float, pressure_kpa: float, temperature_k: float, humidity: float) -> float:
    """Dry air pressure at the site over that at reference [-]."""
    given = _reference()
    if not a:
        return pressure_kpa / given["reference_pressure"]
    site = pressure_kpa - a * humidity * vapour_pressure_kpa(temperature_k - KELVIN)
    vapour = vapour_pressure_kpa(given["reference_temperature"] - KELVIN)
    return site / (given["reference_pressure"] - a * given["reference_humidity"] * vapour)


def _iso_share(aspiration: str, altitude_m: float | None, ambient_c: float | None) -> Share:
    """Share by ISO 3046-1; a condition that is ``None`` stands at reference."""
    given = _reference()
    pressure = given["reference_pressure"]
    if altitude_m is not None:
        pressure = min(pressure, standard_pressure_kpa(altitude_m))
    kelvin = given["reference_temperature"]
    if ambient_c is not None:
        kelvin = max(kelvin, ambient_c + KELVIN)
    wet = given["reference_humidity"] if ambient_c is None else None
    factor = min(
        iso3046_factor(e, pressure, kelvin, humidity=wet) for e in engine_exponents(aspiration)
    )
    shown = f"ISO 3046-1 alpha at {pressure:.2f} kPa, {kelvin:.1f} K, {aspiration}"
    return Share(
        max(0.0, min(1.0, factor)),
        shown,
        source_line("engine_power_exponents"),
        _past_formula(altitude_m, ambient_c),
    )


def _past_formula(altitude_m: float | None, ambient_c: float | None) -> tuple[Past, ...]:
    given, past = _reference(), []
    if altitude_m is not None and altitude_m > given["highest_altitude"]:
        past.append(Past("altitude", altitude_m, given["highest_altitude"], "m"))
    if ambient_c is not None and ambient_c > given["highest_ambient"]:
        past.append(Past("ambient", ambient_c, given["highest_ambient"], "degC"))
    return tuple(past)


@lru_cache(maxsize=16)
def engine_exponents(aspiration: str) -> tuple[Exponents, ...]:
    """Return the exponents that may hold for a way of aspiration.

    Parameters
    ----------
    aspiration : str
        ``turbocharged_aftercooled``, ``turbocharged`` or ``naturally_aspirated`` [-]

    Returns
    -------
    tuple of Exponents
        One; two for a naturally aspirated engine, of which the lower factor counts since the
        record does not say whether air or heat limits it [-]

    Raises
    ------
    TableRefused
        There is no such aspiration in the table.

    Notes
    -----
    Source: engine_power_exponents.
    """
    names = [aspiration]
    if aspiration == "naturally_aspirated":
        names = ["naturally_aspirated_excess_air", "naturally_aspirated_thermal"]
    rows: Sequence[dict[str, float]] = [
        dict(table("engine_power_exponents").row(name)) for name in names
    ]
    return tuple(
        Exponents(r["humidity_a"], r["pressure_m"], r["temperature_n"], r["coolant_s"])
        for r in rows
    )


def _by_record(points: Points, condition: str, value: float, unit: str) -> Share:
    past = (Past(condition, value, points[-1][0], unit),) if value > points[-1][0] else ()
    factor = along(points, value)
    return Share(factor, f"{condition} {factor:.4f}", "set record, linear between points", past)


def _default_alternator(condition: str, value: float) -> Share:
    rule = table("alternator_derate").row(condition)
    over = max(0.0, value - rule["free_up_to"])
    factor = max(0.0, 1 - rule["loss_percent"] / 100 * over / rule["per_step"])
    past: tuple[Past, ...] = ()
    if value > rule["covered_up_to"]:
        past = (Past(condition, value, rule["covered_up_to"], rule["unit"]),)
    return Share(factor, f"{condition} {factor:.4f}", source_line("alternator_derate"), past)


def _both(first: Share, second: Share) -> Share:
    source = first.source if first.source == second.source else f"{first.source}; {second.source}"
    return Share(
        first.factor * second.factor,
        f"{first.shown} x {second.shown}",
        source,
        first.past + second.past,
    )


@lru_cache(maxsize=1)
def _reference() -> dict[str, float]:
    return {row["constant"]: row["value"] for row in table("engine_power_reference").rows}
