"""Chapter 11: thresholds of fuel tanks on the road and on site."""

from __future__ import annotations

from collections.abc import Iterable

from sizing.conversions import GALLON_L
from sizing.finding import Finding, Severity
from sizing.fleet import GeneratorSet
from sizing.tables import table


def _rule(name: str) -> float:
    return float(table("fuel_storage").at("value", name))


def _source(name: str) -> str:
    return str(table("fuel_storage").at("source", name))


def is_bulk(tank_l: float) -> bool:
    """Whether a tank is a bulk packaging on the road: capacity over 119 gal.

    Parameters
    ----------
    tank_l : float
        Capacity, not contents [L]

    Returns
    -------
    bool
        True over 119 gal (450.5 L) [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Notes
    -----
    The rule prints 450 L (119 gal), half a litre apart; the gallon figure counts.

    Examples
    --------
    >>> [is_bulk(gal * GALLON_L) for gal in (100, 119, 120, 250)]
    [False, False, True, True]

    Source: 49 CFR 171.8.
    """
    return tank_l / GALLON_L > _rule("bulk_packaging") * (1 + 1e-9)


def counted_gal(tanks_l: Iterable[float]) -> float:
    """Capacity that counts towards a spill plan [gal]: shells of 55 gal and more.

    Parameters
    ----------
    tanks_l : iterable of float, shape (n,)
        Capacity of each tank on site [L]

    Returns
    -------
    float
        Sum of those that count [gal]

    Raises
    ------
    TableRefused
        The table is damaged.

    Examples
    --------
    >>> round(counted_gal([50 * GALLON_L, 55 * GALLON_L, 500 * GALLON_L]))
    555

    Source: 40 CFR 112.1.
    """
    shells = (tank / GALLON_L for tank in tanks_l)
    return sum(gal for gal in shells if gal >= _rule("spcc_shell") * (1 - 1e-9))


def needs_spill_plan(tanks_l: Iterable[float]) -> bool:
    """Whether a site's tanks reach a spill prevention plan: over 1,320 gal together.

    Parameters
    ----------
    tanks_l : iterable of float, shape (n,)
        Capacity of each tank on site [L]

    Returns
    -------
    bool
        True over 1,320 gal [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Source: 40 CFR 112.1.
    """
    return counted_gal(tanks_l) > _rule("spcc_aggregate") * (1 + 1e-9)


def tank_findings(
    set_: GeneratorSet, count: int = 1, other_tanks_l: Iterable[float] = ()
) -> list[Finding]:
    """What the tanks of a hire reach on the road and on site.

    Parameters
    ----------
    set_ : GeneratorSet
        Its base tank [L]
    count : int
        Sets on site, 1 or more [-]
    other_tanks_l : iterable of float, shape (n,)
        Further tanks, auxiliary ones among them [L]

    Returns
    -------
    list of Finding
        ``tank_threshold``, as notes; the spill plan as a warning [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Notes
    -----
    The customer's own tanks are not known and count too: local fire codes may ask for a permit
    at far less.

    Source: 49 CFR 171.8; 40 CFR 112.1.
    """
    others = tuple(other_tanks_l)
    findings = [_bulk(set_)] if is_bulk(set_.tank_l) else []
    tanks = (*[set_.tank_l] * count, *others)
    if needs_spill_plan(tanks):
        findings.append(_spill_plan(counted_gal(tanks)))
    return findings


def _bulk(set_: GeneratorSet) -> Finding:
    detail = (
        f"The tank of {set_.code} holds {set_.tank_l:.0f} L ({set_.tank_l / GALLON_L:.0f} gal), "
        f"more than 119 gal: on the road it may count as a bulk packaging, with marking and papers."
    )
    return _finding(Severity.NOTE, detail, "bulk_packaging", set_.tank_l / GALLON_L)


def _spill_plan(gallons: float) -> Finding:
    detail = (
        f"Tanks of {gallons:,.0f} gal stand on the site, more than 1,320 gal: the site needs a "
        f"spill prevention plan."
    )
    return _finding(Severity.WARNING, detail, "spcc_aggregate", gallons)


def _finding(severity: Severity, detail: str, rule: str, gallons: float) -> Finding:
    evidence = {"capacity_gal": gallons, "limit_gal": _rule(rule), "source": _source(rule)}
    return Finding("tank_threshold", severity, "recommendation.sets", detail, evidence=evidence)
