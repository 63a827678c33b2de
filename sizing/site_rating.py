"""Chapter 6: what is left of a set's rating at the site's altitude and ambient."""

from __future__ import annotations

from dataclasses import dataclass

from sizing.atmosphere import standard_pressure_kpa
from sizing.finding import Finding, Severity
from sizing.fleet import GeneratorSet
from sizing.trace import Trace


@dataclass(frozen=True, slots=True)
class SiteRating:
    """Site rating of one set: engine in kW, alternator in kVA, and the lower of the two as kW."""

    engine_kw: float
    alternator_kva: float
    site_kw: float
    site_kva: float
    engine_factor: float
    alternator_factor: float
    governs: str  # "engine" or "alternator"


def site_rating(
    set_: GeneratorSet, altitude_m: float, ambient_c: float, trace: Trace | None = None
) -> tuple[SiteRating, list[Finding]]:
    """Return what is left of a set's rating at its site, and a finding outside its table."""
    findings: list[Finding] = []
    engine = _factor(set_.engine_altitude_derate, altitude_m, findings, set_.code) * _factor(
        set_.engine_ambient_derate, ambient_c, findings, set_.code
    )
    if not set_.engine_altitude_derate:
        ratio = (standard_pressure_kpa(altitude_m) / 100) ** 0.7 * (298 / (273 + ambient_c)) ** 1.2
        engine = min(1.0, ratio - 0.7 * (1 - ratio) * 0.25)
    alternator = (1 - 0.01 * max(altitude_m - 1000, 0) / 100) * (1 - 0.03 * max(ambient_c - 40, 0) / 5)
    if set_.alternator_altitude_derate:
        alternator = _factor(set_.alternator_altitude_derate, altitude_m, findings, set_.code)
        alternator *= _factor(set_.alternator_ambient_derate, ambient_c, findings, set_.code)
    engine_kw, alternator_kva = set_.prime_kw * engine, set_.prime_kva * alternator
    lower = min(engine, alternator)
    rating = SiteRating(
        engine_kw, alternator_kva, set_.prime_kw * lower, set_.prime_kva * alternator,
        engine, alternator, "engine" if engine <= alternator else "alternator",
    )  # fmt: skip
    return rating, findings


def _factor(
    points: tuple[tuple[float, float], ...], value: float, findings: list[Finding], code: str
) -> float:
    if not points:
        return 1.0
    if value > points[-1][0]:
        findings.append(
            Finding("outside_table", Severity.NEEDS_PERSON, "site", f"{code}: {value:g} is past {points[-1][0]:g}")
        )
        return points[-1][1]
    previous = (points[0][0], points[0][1])
    for x, y in points:
        if value <= x:
            span = x - previous[0]
            return y if span <= 0 else previous[1] + (value - previous[0]) / span * (y - previous[1])
        previous = (x, y)
    return previous[1]
