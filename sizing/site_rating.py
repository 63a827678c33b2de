"""Chapter 6: what is left of a set's rating at the site's altitude and ambient.

Engine and alternator lose power apart and for different reasons: the engine for want of air and
for hot charge air, the alternator for want of cooling. Each is derated by the set's own record
where it has one; the lower of the two counts.
"""

from __future__ import annotations

from dataclasses import dataclass

from sizing.derating import Share, alternator_share, engine_share
from sizing.finding import Finding, Severity
from sizing.fleet import GeneratorSet
from sizing.trace import Trace


@dataclass(frozen=True, slots=True)
class SiteRating:
    """Site rating of one set: engine in kW, alternator in kVA, and the lower of the two as kW.

    ``site_kva`` is the alternator's: reactive current costs no engine power.
    """

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
    """Return what is left of a set's rating at its site, with a doubt where data end.

    Equation: P = min(f_engine P_prime, f_alternator S_prime cos(phi)), each f = f(z) f(t).

    Parameters
    ----------
    set_ : GeneratorSet
        The set's own record [-]
    altitude_m : float
        Altitude z of the site [m]
    ambient_c : float
        Highest ambient t at the set [degC]
    trace : Trace, optional
        Takes the lines of the calculation where given [-]

    Returns
    -------
    tuple of SiteRating and list of Finding
        The rating [kW, kVA]; one ``outside_table`` finding for each side and condition that lies
        past the data, the rating then being carried on along the last slope, provisional [-]

    Raises
    ------
    OutsideTable
        The altitude lies outside the standard atmosphere altogether.
    TableRefused
        The record's aspiration has no row in the table of exponents.

    Notes
    -----
    Conservative: cold or low-lying sites never raise a rating above prime; the product of the
    two factors is taken although heat and height seldom peak together. Left out: humidity for
    the alternator, dust, clogged radiators.

    Source: the set's record; ISO 3046-1 where the engine has none; alternator_derate where the
    alternator has none.
    """
    engine = engine_share(set_, altitude_m, ambient_c)
    alternator = alternator_share(set_, altitude_m, ambient_c)
    rating = _rating(set_, engine, alternator)
    if trace is not None:
        _write(trace, set_, altitude_m, ambient_c, engine, alternator, rating)
    if not engine.past and not alternator.past:
        return rating, []
    return rating, _doubts(set_, engine, alternator)


def _rating(set_: GeneratorSet, engine: Share, alternator: Share) -> SiteRating:
    engine_kw = set_.prime_kw * engine.factor
    alternator_kva = set_.prime_kva * alternator.factor
    alternator_kw = set_.prime_kw * alternator.factor
    governs = "engine" if engine_kw <= alternator_kw else "alternator"
    return SiteRating(
        engine_kw, alternator_kva, min(engine_kw, alternator_kw), alternator_kva,
        engine.factor, alternator.factor, governs,
    )  # fmt: skip


def _doubts(set_: GeneratorSet, engine: Share, alternator: Share) -> list[Finding]:
    found = []
    for part, share in (("engine", engine), ("alternator", alternator)):
        for past in share.past:
            found.append(
                Finding(
                    "outside_table", Severity.NEEDS_PERSON, f"site.{past.condition}",
                    f"{set_.name}: the {part}'s derating data end at {past.last:,.4g} {past.unit}; "
                    f"the site has {past.value:,.4g} {past.unit}. The rating shown carries on the "
                    "last slope and is provisional.",
                    f"What does the maker allow this {part} at {past.value:,.4g} {past.unit}?",
                    {"set": set_.code, "value": past.value, "last": past.last, "unit": past.unit},
                )
            )  # fmt: skip
    return found


def _write(
    trace: Trace, set_: GeneratorSet, altitude_m: float, ambient_c: float,
    engine: Share, alternator: Share, rating: SiteRating,
) -> None:  # fmt: skip
    where = f"at {altitude_m:,.0f} m and {ambient_c:.1f} degC"
    trace.add(
        "site_rating",
        f"engine {where}: {engine.shown} = {engine.factor:.4f}; "
        f"{set_.prime_kw:.1f} kW x {engine.factor:.4f} = {rating.engine_kw:.1f} kW",
        engine.source,
    )
    trace.add(
        "site_rating",
        f"alternator {where}: {alternator.shown} = {alternator.factor:.4f}; "
        f"{set_.prime_kva:.1f} kVA x {alternator.factor:.4f} = {rating.alternator_kva:.1f} kVA",
        alternator.source,
    )
    trace.add(
        "site_rating",
        f"the {rating.governs} governs: site rating {rating.site_kw:.1f} kW, "
        f"{rating.site_kva:.1f} kVA",
        "the lower of the two counts",
    )
