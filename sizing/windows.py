"""Chapter 9: which part of the day each load runs, by application, sun and season."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, time
from typing import NamedTuple

from sizing.day import DAY_H, Window
from sizing.finding import Finding, Severity
from sizing.nameplate import LoadDemand
from sizing.places import months_between, place, usual_afternoon_c
from sizing.requirement import Requirement, Site
from sizing.sun import Night, hire_nights
from sizing.tables import table

LIT_BY_NIGHT = ("dewatering", "event_lighting")  # lamps there are outdoors and follow the sun
HEAT, COOL = "heater", "hvac"
OTHER_OF = {HEAT: COOL, COOL: HEAT}
ASSUMED_SITE = (39.83, -98.58, "America/Chicago")  # middle of the contiguous states
ASSUMED_DAY = date(2026, 12, 21)  # longest night of a year
NEVER = Window(0.0, 0.0)


class DayWindows(NamedTuple):
    """Windows of a day at a site; ``idle_kind`` is the kind that rests in this season."""

    work: Window
    dark: Window
    idle_kind: str = ""
    basis: str = ""


def window_of(demand: LoadDemand, requirement: Requirement, windows: DayWindows) -> Window:
    """Window in which a load runs.

    Parameters
    ----------
    demand : LoadDemand
        The load, not on a float switch [-]
    requirement : Requirement
        Application and end of the lights [-]
    windows : DayWindows
        Windows of the day [-]

    Returns
    -------
    Window
        Dark hours for outdoor lamps, none for heat in summer or cooling in winter, else work [-]

    Raises
    ------
    AttributeError
        Not a demand.

    Source: common practice, no source; heat and cooling never together, NEC 220.60 (memory).
    """
    if demand.kind == windows.idle_kind:
        return NEVER
    by_sun = requirement.application in LIT_BY_NIGHT or requirement.site.lights_until
    return windows.dark if demand.kind == "lamp" and by_sun else windows.work


def day_windows(
    requirement: Requirement, demands: Sequence[LoadDemand]
) -> tuple[DayWindows, list[Finding]]:
    """Windows of the day that stands for the hire, and what was assumed.

    Parameters
    ----------
    requirement : Requirement
        Application, site, hire [-]
    demands : sequence of LoadDemand, shape (n,)
        Only their kinds and kW count [-]

    Returns
    -------
    DayWindows
        Work and dark windows [h], kind at rest.
    list of Finding
        Assumptions, as notes [-]

    Raises
    ------
    PlaceRefused
        The ZIP names no place.

    Source: sizing/tables/duty_rules.csv.
    """
    dark, dark_basis, findings = _dark(requirement, demands)
    idle, season_basis, more = _season(requirement, demands)
    work = _work_window(requirement, dark)
    basis = [f"work from {_clock(work.start_h)} for {work.hours:g} h", dark_basis, season_basis]
    return DayWindows(work, dark, idle, "; ".join(b for b in basis if b)), [*findings, *more]


def _clock(hour: float) -> str:
    minutes = round(hour % DAY_H * 60) % 1440
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _hour(moment: time) -> float:
    return moment.hour + moment.minute / 60


def _work_window(requirement: Requirement, dark: Window) -> Window:
    """Hours of work: a trailer by its clock, an event by its lights, the rest by hours a day."""
    site, hours = requirement.site, min(DAY_H, requirement.site.hours_per_day.likely)
    start_h = _hour(site.work_from) if site.work_from else _rule("day_starts_at")
    if requirement.application == "jobsite_trailer" and site.work_from and site.work_until:
        return Window(start_h, (_hour(site.work_until) - start_h) % DAY_H or DAY_H)
    if hours >= DAY_H:
        return Window(0.0, DAY_H)
    if requirement.application == "event_lighting" and dark.hours:
        return Window((dark.start_h + dark.hours - hours) % DAY_H, hours)
    return Window(start_h, hours)


def _rule(name: str) -> float:
    return float(table("duty_rules").at("value", name))


def _dark(
    requirement: Requirement, demands: Sequence[LoadDemand]
) -> tuple[Window, str, list[Finding]]:
    """Longest lighting time of the hire; nothing is asked of the sun where no lamp follows it."""
    if not any(d.kind == "lamp" for d in demands):
        return NEVER, "", []
    nights, findings = _nights(requirement)
    lit = [(_lit_hours(n, requirement), n) for n in nights]
    hours, darkest = max(lit, key=lambda pair: pair[0])
    if all(n.polar == "day" for n in nights):
        return _polar_day(requirement.site, findings)
    if any(_ends_in_daylight(n, requirement.site) for n in nights):
        findings.append(_note("lights_end_in_daylight", "site.lights_until", DAYLIGHT))
    day = f"lamps from {_clock(darkest.sunset_h)} for {hours:.2f} h, as on {darkest.day}"
    return Window(darkest.sunset_h, hours), day, findings


DAYLIGHT = "The lights are to end after sunrise: they are counted from sunset to sunrise."


def _note(code: str, subject: str, detail: str, question: str = "") -> Finding:
    return Finding(code, Severity.NOTE, subject, detail, question)


def _polar_day(site: Site, findings: list[Finding]) -> tuple[Window, str, list[Finding]]:
    hours = min(DAY_H, site.hours_per_day.likely)
    end_h = _hour(site.lights_until) if site.lights_until else DAY_H
    detail = f"The sun does not set there in these days: lamps are counted {hours:g} h a day."
    findings.append(_note("sun_never_sets", "site.zip", detail))
    return Window((end_h - hours) % DAY_H, hours), f"lamps for {hours:g} h, no sunset", findings


def _ends_in_daylight(night: Night, site: Site) -> bool:
    if site.lights_until is None:
        return False
    return (_hour(site.lights_until) - night.sunset_h) % DAY_H > night.dark_h


def _lit_hours(night: Night, requirement: Requirement) -> float:
    """Hours that lamps burn in one night, never beyond its sunrise."""
    until = requirement.site.lights_until
    if until:
        return min(night.dark_h, (_hour(until) - night.sunset_h) % DAY_H)
    if requirement.application == "event_lighting":
        return min(night.dark_h, requirement.site.hours_per_day.likely)
    return night.dark_h


def _nights(requirement: Requirement) -> tuple[tuple[Night, ...], list[Finding]]:
    """Nights of the hire at the site, or of an assumed place and the longest night."""
    findings: list[Finding] = []
    latitude, longitude, zone = _where(requirement.site, findings)
    hire = requirement.hire
    if hire is None:
        detail = "No dates are given: the longest night of the year is taken for the lamps."
        findings.append(
            _note("sunset_assumed", "hire", detail, "When does the hire begin and end?")
        )
    start, end = (hire.start, hire.end) if hire else (ASSUMED_DAY, ASSUMED_DAY)
    return hire_nights(latitude, longitude, zone, start, end), findings


def _where(site: Site, findings: list[Finding]) -> tuple[float, float, str]:
    if site.latitude_deg is not None and site.longitude_deg is not None and site.timezone:
        return site.latitude_deg, site.longitude_deg, site.timezone
    if site.zip:
        at = place(site.zip)
        return at.latitude_deg, at.longitude_deg, at.timezone
    detail = "No ZIP is given: sunset is taken as in the middle of the country."
    findings.append(_note("sunset_assumed", "site.zip", detail, "What is the ZIP of the site?"))
    return ASSUMED_SITE


def _season(
    requirement: Requirement, demands: Sequence[LoadDemand]
) -> tuple[str, str, list[Finding]]:
    """Kind at rest in a trailer's season: heat or cooling runs, never both."""
    kinds = {d.kind for d in demands}
    if requirement.application != "jobsite_trailer" or not {HEAT, COOL} <= kinds:
        return "", "", []
    running = _season_kind(requirement)
    if running:
        return OTHER_OF[running], f"{running} runs, {OTHER_OF[running]} rests in this season", []
    larger = max((HEAT, COOL), key=lambda kind: _kind_kw(kind, demands))
    detail = f"Heat or cooling, never both: the larger, {larger}, is counted for the whole hire."
    return OTHER_OF[larger], detail, [_note("season_assumed", "hire", detail)]


def _season_kind(requirement: Requirement) -> str:
    """Kind that runs in every month of the hire; empty where months differ or are not known."""
    site, hire = requirement.site, requirement.hire
    if hire is None or site.zip is None:
        return ""
    state, limit_c = place(site.zip).state, _rule("heating_below")
    months = months_between(hire.start, hire.end)
    kinds = {HEAT if usual_afternoon_c(state, m) < limit_c else COOL for m in months}
    return kinds.pop() if len(kinds) == 1 else ""


def _kind_kw(kind: str, demands: Sequence[LoadDemand]) -> float:
    return sum(d.running_kw * d.quantity * d.demand_factor for d in demands if d.kind == kind)
