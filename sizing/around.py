"""Chapter 11: around the set: sound, exhaust, grounding, towing, tanks and the length of stay."""

from __future__ import annotations

from datetime import date

from sizing.check import Check
from sizing.conversions import FOOT_M
from sizing.finding import Finding, Severity
from sizing.fleet import GeneratorSet
from sizing.requirement import Hire, Requirement, Site
from sizing.sound import sound_at, sound_check
from sizing.tables import table
from sizing.tanks import tank_findings
from sizing.towing import towing_checks
from sizing.trace import Trace

__all__ = ["around_checks", "around_findings", "openings_check", "sound_at", "stays_too_long"]


def around_checks(
    set_: GeneratorSet,
    requirement: Requirement,
    count: int = 1,
    trace: Trace | None = None,
    *,
    auxiliary_tank_l: float = 0.0,
) -> tuple[tuple[Check, ...], list[Finding]]:
    """Checks of one set in its surroundings, and what a person should know of them.

    Parameters
    ----------
    set_ : GeneratorSet
        The set [-]
    requirement : Requirement
        Site and hire, resolved [-]
    count : int
        Equal sets that run, 1 or more [-]
    trace : Trace or None
        Takes the lines where given [-]
    auxiliary_tank_l : float
        Auxiliary tank beside each set, 0 without one [L]

    Returns
    -------
    tuple of Check
        Sound [dBA] binding; exhaust distance [m] and towing as warnings
    list of Finding
        Sound, exhaust, towing, tanks, grounding, length of stay [-]

    Raises
    ------
    TableRefused
        A table is damaged.

    Source: the chapters' own: sound, towing, tanks; 40 CFR 1068.30; US CPSC.
    """
    sound, heard = sound_check(set_, requirement.site, count, trace)
    exhaust, breathed = openings_check(requirement.site)
    towed, towing = towing_checks(set_, requirement.site.towing, trace)
    checks = tuple(check for check in (sound, exhaust, *towed) if check)
    tanks = tank_findings(set_, count, [auxiliary_tank_l] * count)
    return checks, [*heard, *breathed, *towing, *tanks, *around_findings(requirement)]


def openings_check(site: Site) -> tuple[Check | None, list[Finding]]:
    """Check of the distance from exhaust to doors, windows and vents: 20 ft.

    Parameters
    ----------
    site : Site
        Distance of the openings, ``None`` where nothing was said [m]

    Returns
    -------
    Check or None
        Required against given [m]; not binding for the choice of a set
    list of Finding
        ``carbon_monoxide`` for a person where it is too near [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Notes
    -----
    Where the distance is not known the general caution tells it; it is never left unsaid.

    Source: US CPSC advice on portable sets.
    """
    if site.openings_distance_m is None:
        return None, []
    rule = table("site_rules")
    needed_m = float(rule.at("value", "openings_distance")) * FOOT_M
    given_m, source = site.openings_distance_m, str(rule.at("source", "openings_distance"))
    passed = given_m >= needed_m - 1e-9
    check = Check("openings_distance", needed_m, given_m, "m", passed, source, binding=False)
    return check, [] if passed else [_too_near(given_m, needed_m)]


def _too_near(given_m: float, needed_m: float) -> Finding:
    return Finding(
        "carbon_monoxide",
        Severity.NEEDS_PERSON,
        "site.openings_distance",
        f"The exhaust would be {given_m:.1f} m from an opening of a building; carbon monoxide "
        f"needs {needed_m:.1f} m (20 ft) at least, with the exhaust pointing away.",
        "Can the set stand at least 20 ft from doors, windows and vents?",
        {"given_m": given_m, "needed_m": needed_m},
    )


def around_findings(requirement: Requirement) -> list[Finding]:
    """What the surroundings ask whichever set comes: grounding, ground-fault protection, stay.

    Parameters
    ----------
    requirement : Requirement
        Application, site and hire [-]

    Returns
    -------
    list of Finding
        ``grounding_*``, ``ground_fault``, ``twelve_months`` [-]

    Raises
    ------
    TableRefused
        A table is damaged.

    Source: NEC 2023, 250.34, 250.30, 590.6; 29 CFR 1926.404; 40 CFR 1068.30.
    """
    findings = [_grounding(requirement.site), _caution("ground_fault")]
    if requirement.hire and stays_too_long(requirement.hire):
        findings.append(_twelve_months(requirement.hire))
    return findings


def _grounding(site: Site) -> Finding:
    """Grounding by what the set feeds: a building ends the exemption of cord-and-plug sets."""
    return _caution("grounding_building" if site.feeds_building else "grounding_cord_and_plug")


def _caution(code: str) -> Finding:
    row = table("site_cautions").row(code)
    return Finding(code, Severity.NOTE, "site", row["text"], evidence={"source": row["source"]})


def stays_too_long(hire: Hire) -> bool:
    """Whether a set would stay more than twelve months in one place and so become stationary.

    Parameters
    ----------
    hire : Hire
        First and last day [-]

    Returns
    -------
    bool
        True from the day twelve months after the start on [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Notes
    -----
    A replacement set in the same place counts on; moving it only to restart the clock does not.

    Examples
    --------
    >>> stays_too_long(Hire(date(2027, 6, 1), date(2028, 5, 31)))
    False
    >>> stays_too_long(Hire(date(2027, 6, 1), date(2028, 6, 1)))
    True

    Source: 40 CFR 1068.30.
    """
    months = int(table("site_rules").at("value", "stationary_after"))
    return hire.end >= later_by_months(hire.start, months)


def later_by_months(day: date, months: int) -> date:
    """Same day some months later, the month's last day where it has no such day.

    Parameters
    ----------
    day : date
        Start [-]
    months : int
        Months, 0 or more [-]

    Returns
    -------
    date
        Later day [-]

    Raises
    ------
    ValueError
        Beyond the last year a date can hold.

    Examples
    --------
    >>> later_by_months(date(2028, 2, 29), 12)
    datetime.date(2029, 2, 28)

    Source: the calendar.
    """
    import calendar

    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    last = calendar.monthrange(year, month + 1)[1]
    return date(year, month + 1, min(day.day, last))


def _twelve_months(hire: Hire) -> Finding:
    return Finding(
        "twelve_months",
        Severity.WARNING,
        "hire.end",
        "A set that stays more than twelve months in one place counts as a stationary engine and "
        "falls under other air rules; a replacement in the same place counts on.",
        "Will the set really stay in one place that long?",
        {"start": hire.start.isoformat(), "end": hire.end.isoformat()},
    )
