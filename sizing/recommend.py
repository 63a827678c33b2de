"""The method as a table of contents: from a requirement and a fleet to a result."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from sizing.around import around_checks
from sizing.cautions import cautions
from sizing.combinations import Option, options
from sizing.demand import Demand, demand_of, read_loads
from sizing.finding import Finding, Severity
from sizing.fleet import GeneratorSet
from sizing.nameplate import LoadDemand
from sizing.requirement import Requirement
from sizing.result import Result
from sizing.selection import Evaluation, by_size, evaluate
from sizing.supply import settle_supply
from sizing.trace import Trace
from sizing.unsure import Answer, explore


def recommend(requirement: Requirement, fleet: Sequence[GeneratorSet]) -> Result:
    """Return the smallest set of a fleet that carries a job, or what stands in the way.

    Parameters
    ----------
    requirement : Requirement
        As read: in SI units, unsure values as bands [-]
    fleet : sequence of GeneratorSet
        Sets in any order; a set whose ``quantity`` is 0 is left out [-]

    Returns
    -------
    Result
        Outcome, demand, recommendation, alternatives, findings and the worked sheet [-]

    Raises
    ------
    TableRefused
        A published table is damaged.

    Notes
    -----
    The order of the method: supply (2), nameplates (1), starting (3), sequence (4), phases (8),
    duty (9), leads (10), then for each set the site rating (6), the checks (7) and the dips (5);
    all of it at the low, the likely and the high end of what is not known (12), and once more
    with a trace for the answer that is given.
    """
    trace = Trace()
    plan = settle_supply(requirement, trace)
    if plan.system is None:
        return Result(
            findings=plan.findings, trace=tuple(trace.lines),
            cautions=cautions(), versions=versions(),
        )  # fmt: skip
    system = plan.system

    def size(resolved: Requirement) -> Answer:
        return sized(resolved, fleet, system)

    answer, doubts = explore(requirement, fleet, size)
    final = sized(answer.requirement, fleet, system, trace)
    write_checks(final.options, final.requirement, trace)
    findings = (*plan.findings, *final.findings, *doubts)
    return Result(
        final.demands, final.options, _once(findings), tuple(trace.lines), cautions(), versions()
    )


def sized(
    requirement: Requirement,
    fleet: Sequence[GeneratorSet],
    system: str,
    trace: Trace | None = None,
) -> Answer:
    """Return the answer for a resolved requirement at one main supply.

    Parameters
    ----------
    requirement : Requirement
        A resolved requirement [-]
    fleet : sequence of GeneratorSet
        Sets in any order [-]
    system : str
        The main supply [-]
    trace : Trace, optional
        Takes the lines of chapters 1 to 4 and 8 to 10 where given [-]

    Returns
    -------
    Answer
        Demands by supply, options ranked, findings of the chapters [-]

    Raises
    ------
    TableRefused
        A published table is damaged.
    """
    loads, findings = read_loads(requirement, system, trace)
    demands: list[Demand] = []
    for supply, mine in by_supply(loads, system).items():
        demand, doubts = demand_of(requirement, supply, mine, trace)
        demands.append(demand)
        findings += doubts
    if not demands:
        return Answer(requirement, (), (), tuple(findings))
    found = options(fleet, demands, requirement)
    findings += [*option_findings(found[0], requirement)] if found else [
        no_set_fits(fleet, demand, requirement) for demand in demands
    ]  # fmt: skip
    return Answer(requirement, tuple(demands), found, tuple(findings))


def by_supply(loads: Sequence[LoadDemand], system: str) -> dict[str, list[LoadDemand]]:
    """Return the loads grouped by the supply they take, the main supply first.

    Parameters
    ----------
    loads : sequence of LoadDemand
        Loads that can be served [-]
    system : str
        The main supply [-]

    Returns
    -------
    dict of str to list of LoadDemand
        No empty groups [-]

    Raises
    ------
    AttributeError
        An item is no load.
    """
    groups: dict[str, list[LoadDemand]] = {system: []}
    for load in loads:
        groups.setdefault(load.supply or system, []).append(load)
    return {supply: mine for supply, mine in groups.items() if mine}


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
        findings += around_checks(part.set_, requirement)[1]
    return findings


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
    short_kw = 0.3 * found.rating.site_kw - mean_kw
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
        refused = ", ".join(
            f"{check.name.replace('_', ' ')} {_figure(check.provided)} against "
            f"{_figure(check.required)} {check.unit}"
            for check in largest.refusals
        )
        detail += f" The largest, {largest.set_.code}, fails: {refused or 'none is free'}."
    question = "Can loads start one after another, take a softer start, or be split over two sets?"
    return Finding("no_set_fits", Severity.NEEDS_PERSON, "loads", detail, question)


def write_checks(found: Sequence[Option], requirement: Requirement, trace: Trace) -> None:
    """Write the chosen sets' rating, fuel, dips and checks to the trace.

    Parameters
    ----------
    found : sequence of Option
        The recommended option first; may be empty [-]
    requirement : Requirement
        A resolved requirement [-]
    trace : Trace
        Takes the lines [-]

    Returns
    -------
    None
        Nothing; the trace has grown [-]

    Raises
    ------
    KeyError
        A demand's supply is not a known system.
    """
    for part in found[0].parts if found else ():
        evaluation = part.evaluation
        measured = evaluate(
            evaluation.set_, evaluation.demand, requirement, trace, count=evaluation.count
        )
        for check in measured.checks:
            verdict = "holds" if check.passed else "does not hold"
            line = (
                f"{evaluation.set_.code}: {check.name} {_figure(check.provided)} {check.unit} "
                f"against {_figure(check.required)} {check.unit}: {verdict}"
            )
            trace.add("selection", line, check.source)


@lru_cache(maxsize=1)
def versions() -> dict[str, str]:
    """Return the version of the method and a fingerprint of its tables.

    Returns
    -------
    dict of str to str
        ``method`` and ``tables`` (12 hexadecimal digits) [-]

    Raises
    ------
    OSError
        The tables cannot be read.
    """
    import hashlib

    from sizing.tables import FOLDER

    digest = hashlib.sha256()
    for path in sorted((*FOLDER.glob("*.csv"), FOLDER / "sources.toml")):
        digest.update(path.name.encode() + b"\0" + path.read_bytes())
    return {"method": "1", "tables": digest.hexdigest()[:12]}


def _once(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Each doubt once, in the order met."""
    kept: dict[tuple[str, str, str], Finding] = {}
    for finding in findings:
        kept.setdefault((finding.code, finding.subject, finding.detail), finding)
    return tuple(kept.values())


def _figure(value: float | str) -> str:
    return f"{value:.4g}" if isinstance(value, float) else str(value)
