"""Doubts about a choice: a light load, no set that fits, and a job that cannot be counted."""

from __future__ import annotations

from collections.abc import Sequence

from sizing.around import around_checks
from sizing.check import Check
from sizing.combinations import Option, Part
from sizing.connection import lead_findings
from sizing.demand import Demand
from sizing.errors import SizingError
from sizing.evaluation import Evaluation, evaluate
from sizing.finding import Finding, Severity
from sizing.fleet import GeneratorSet
from sizing.limits import limit
from sizing.plugs import plug_findings, plug_plan
from sizing.requirement import Requirement, Site
from sizing.selection import by_size

EASINGS = {
    "in_order": ("order_proposed", "Will someone on site start the loads in this order?"),
    "softer_start": ("softer_start_proposed", "Does the machine start on a soft starter?"),
}


def backfeed(site: Site) -> list[Finding]:
    """Return the finding that a building would be fed without transfer equipment.

    Parameters
    ----------
    site : Site
        What the set feeds [-]

    Returns
    -------
    list of Finding
        Empty, or one that needs a person: nobody is quoted such a job [-]

    Raises
    ------
    AttributeError
        The argument is no site.

    Notes
    -----
    Source: NEC 702.5; where the answer on transfer equipment is missing, a person asks as well.
    """
    if not site.feeds_building or site.transfer_equipment:
        return []
    said = "there is none" if site.transfer_equipment is False else "nothing is said of it"
    detail = (
        f"The set would feed a building, which needs transfer equipment; {said}. Power sent back "
        "into the utility line kills line workers (NEC 702.5)."
    )
    question = "Which transfer equipment keeps the set and the utility apart?"
    return [Finding("backfeed", Severity.NEEDS_PERSON, "site.transfer_equipment", detail, question)]


def option_findings(option: Option, requirement: Requirement) -> list[Finding]:
    """Return the doubts that the recommended option itself raises.

    Parameters
    ----------
    option : Option
        The recommended option [-]
    requirement : Requirement
        A resolved requirement [-]

    Returns
    -------
    list of Finding
        Site rating, light load, and what chapter 11 sees around the set [-]

    Raises
    ------
    TableRefused
        A published table is damaged.
    """
    findings: list[Finding] = []
    for part in option.parts:
        findings += part.evaluation.findings
        findings += light_load(part.evaluation)
        findings += around_findings(part, requirement)
        findings += terminal_findings(part.evaluation, requirement)
    return findings


def conditions(found: Sequence[Option]) -> list[Finding]:
    """Return what a customer must do for an option that rests on it.

    Parameters
    ----------
    found : sequence of Option
        The recommended option first, at least one [-]

    Returns
    -------
    list of Finding
        A note for an alternative; a person where the recommendation itself rests on it [-]

    Raises
    ------
    KeyError
        An eased option is of no known kind.
    """
    findings = []
    for place, option in enumerate(found):
        if option.kind in EASINGS:
            code, question = EASINGS[option.kind]
            severity = Severity.NOTE if place else Severity.NEEDS_PERSON
            findings.append(Finding(code, severity, "loads", option.why, question))
    return findings


def around_findings(part: Part, requirement: Requirement) -> list[Finding]:
    """Return what chapter 11 sees around the sets of one part.

    Parameters
    ----------
    part : Part
        Sets of one type, with their fuel plan [-]
    requirement : Requirement
        A resolved requirement [-]

    Returns
    -------
    list of Finding
        Sound, exhaust, towing, tanks, grounding, length of stay [-]

    Raises
    ------
    TableRefused
        A published table is damaged.
    """
    fuel = part.evaluation.fuel
    tank_l = fuel.extra_tank_l if fuel is not None else 0.0
    _, findings = around_checks(part.set_, requirement, part.quantity, auxiliary_tank_l=tank_l)
    return findings


def terminal_findings(found: Evaluation, requirement: Requirement) -> list[Finding]:
    """Return what chapter 10 sees at the set's terminals: leads and plugs.

    Parameters
    ----------
    found : Evaluation
        A set with its demand [-]
    requirement : Requirement
        A resolved requirement [-]

    Returns
    -------
    list of Finding
        Leads beyond what is kept, plugs without a place [-]

    Raises
    ------
    TableRefused
        A published table is damaged.
    """
    leads = found.leads
    plugs = plug_plan(requirement.site.plugs, found.set_, found.supply)
    return [
        *(lead_findings(leads, found.set_, found.supply) if leads else []),
        *plug_findings(plugs, found.supply),
    ]


def light_load(found: Evaluation) -> list[Finding]:
    """Return a warning with its remedy where the mean load is under 30 % of the site rating.

    Parameters
    ----------
    found : Evaluation
        A set with its demand [-]

    Returns
    -------
    list of Finding
        Empty, or one warning [-]

    Raises
    ------
    TableRefused
        The table of limits is damaged.
    """
    light = [check for check in found.checks if check.name == "light_load" and not check.passed]
    if not light:
        return []
    mean_kw = found.demand.profile.mean_kw
    short_kw = limit("light_load").value / 100 * found.rating.site_kw - mean_kw
    detail = (
        f"The mean load of {mean_kw:.1f} kW is {found.mean_running_percent:.0f} % of "
        f"{found.set_.code} at the site; a diesel engine wants 30 % or more. "
        f"A smaller start, a smaller set or a load bank of {short_kw:.1f} kW would mend it."
    )
    evidence = {"mean_kw": mean_kw, "short_kw": short_kw, "site_kw": found.rating.site_kw}
    return [Finding("light_load", Severity.WARNING, "loads", detail, evidence=evidence)]


def no_set_fits(fleet: Sequence[GeneratorSet], demand: Demand, requirement: Requirement) -> Finding:
    """Return the finding that no set passes, with what refuses the set that comes nearest.

    Parameters
    ----------
    fleet : sequence of GeneratorSet
        Sets in any order [-]
    demand : Demand
        What the loads of one supply ask [-]
    requirement : Requirement
        A resolved requirement [-]

    Returns
    -------
    Finding
        ``no_set_fits``, needs a person [-]

    Raises
    ------
    TableRefused
        The table of limits is damaged.
    """
    able = [set_ for set_ in fleet if demand.supply in set_.supplies]
    detail = f"No set of the fleet passes every check at {demand.supply}."
    if able:
        largest = evaluate(max(able, key=by_size), demand, requirement)
        refused = ", ".join(check_line(check).rpartition(":")[0] for check in largest.refusals)
        detail += f" The largest, {largest.set_.code}, fails: {refused or 'none is free'}."
    question = "Can loads start one after another, take a softer start, or be split over two sets?"
    return Finding("no_set_fits", Severity.NEEDS_PERSON, "loads", detail, question)


def cannot_count(refusal: SizingError) -> Finding:
    """Return the finding that the method cannot go on with these loads.

    Parameters
    ----------
    refusal : SizingError
        A table exceeded, or loads that wait for each other in a circle [-]

    Returns
    -------
    Finding
        Needs a person; its code is the refusal's [-]

    Raises
    ------
    AttributeError
        The argument is no refusal.
    """
    question = "Which figures hold for this equipment? An engineer must size it by hand."
    return Finding(refusal.code, Severity.NEEDS_PERSON, "loads", str(refusal), question)


def once(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Return each doubt once, in the order met.

    Parameters
    ----------
    findings : sequence of Finding
        Doubts, some met more than once [-]

    Returns
    -------
    tuple of Finding
        Without repeats of code, subject and detail [-]

    Raises
    ------
    AttributeError
        An item is no finding.
    """
    kept: dict[tuple[str, str, str], Finding] = {}
    for finding in findings:
        kept.setdefault((finding.code, finding.subject, finding.detail), finding)
    return tuple(kept.values())


def check_line(check: Check) -> str:
    """Return a check as one line: what is there, against what, and the verdict.

    Parameters
    ----------
    check : Check
        A check with its figures [unit of the check]

    Returns
    -------
    str
        ``voltage dip 13.84 % against 30 %: holds`` [-]

    Raises
    ------
    TypeError
        A figure is neither a number nor a word.
    """
    there, asked = (figure(value, check.unit) for value in (check.provided, check.required))
    verdict = "holds" if check.passed else "does not hold"
    return f"{check.name.replace('_', ' ')} {there} against {asked}: {verdict}"


def figure(value: float | str, unit: str) -> str:
    """Return a figure of a check in at most four digits, with its unit.

    Parameters
    ----------
    value : float or str
        What a check requires or provides [unit]
    unit : str
        Unit, ``-`` where there is none [-]

    Returns
    -------
    str
        Text [-]

    Raises
    ------
    TypeError
        The value is neither a number nor a word.
    """
    words = value if isinstance(value, str) else f"{value:.4g}"
    return words if unit == "-" else f"{words} {unit}"
