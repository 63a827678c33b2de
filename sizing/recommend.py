"""The method as a table of contents: from a requirement and a fleet to a result."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress

from sizing.apart import demands_apart
from sizing.cautions import cautions
from sizing.combinations import Option, options
from sizing.demand import Demand, demand_of, read_loads
from sizing.doubts import cannot_count, figure, no_set_fits, once, option_findings
from sizing.easing import in_order, softer_start
from sizing.errors import OutsideTable
from sizing.evaluation import evaluate
from sizing.finding import Finding
from sizing.fleet import GeneratorSet
from sizing.nameplate import LoadDemand
from sizing.requirement import Requirement
from sizing.result import Result
from sizing.sequence import SequenceRefused
from sizing.supply import settle_supply
from sizing.trace import Trace
from sizing.unknowns import unknowns
from sizing.unsure import Answer, explore
from sizing.versions import versions


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
    all of it at the low, the likely and the high end of what is not known (12).
    """
    trace = Trace()
    plan = settle_supply(requirement, trace)
    if plan.system is None:
        return Result((), (), plan.findings, tuple(trace.lines), cautions(), versions())
    system, settled = plan.system, not unknowns(requirement)

    def size(resolved: Requirement) -> Answer:
        return sized(resolved, fleet, system, trace if settled else None)

    answer, doubts = explore(requirement, fleet, size)
    if not settled:
        write_demand(answer.requirement, system, trace)
    write_checks(answer, trace)
    findings = once((*plan.findings, *answer.findings, *doubts))
    lines = tuple(trace.lines)
    return Result(answer.demands, answer.options, findings, lines, cautions(), versions())


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
    try:
        demands, doubts = demands_by_supply(requirement, loads, system, trace)
        found = ways(requirement, fleet, system, loads, demands) if demands else ()
    except (OutsideTable, SequenceRefused) as refusal:
        return Answer(requirement, (), (), (*findings, cannot_count(refusal)))
    findings += doubts
    if found:
        findings += option_findings(found[0], requirement)
        demands = [part.evaluation.demand for part in found[0].parts]
    else:
        findings += [no_set_fits(fleet, demand, requirement) for demand in demands]
    return Answer(requirement, tuple(demands), found, tuple(findings))


def ways(
    requirement: Requirement,
    fleet: Sequence[GeneratorSet],
    system: str,
    loads: Sequence[LoadDemand],
    demands: Sequence[Demand],
) -> tuple[Option, ...]:
    """Return every way to carry the job: as read, by an order of starting, on two supplies.

    Parameters
    ----------
    requirement : Requirement
        A resolved requirement [-]
    fleet : sequence of GeneratorSet
        Sets in any order [-]
    system : str
        The main supply [-]
    loads : sequence of LoadDemand
        The loads as read at the main supply [-]
    demands : sequence of Demand
        What they ask, one demand a supply, at least one [-]

    Returns
    -------
    tuple of Option
        The recommended option first; empty where nothing fits [-]

    Raises
    ------
    OutsideTable
        A figure lies outside a table that has no rule for it.
    SequenceRefused
        Loads wait for each other in a circle.
    """
    found = options(fleet, demands, requirement)
    if len(demands) == 1 and requirement.site.redundancy == "n":
        first = found[0] if found else None
        found += in_order(fleet, demands[0], requirement, first)
        found += softer_start(fleet, demands[0], requirement, first)
    apart, _ = demands_apart(requirement, system, loads)
    if apart:
        found += options(fleet, apart, requirement)
    return found


def demands_by_supply(
    requirement: Requirement, loads: Sequence[LoadDemand], system: str, trace: Trace | None = None
) -> tuple[list[Demand], list[Finding]]:
    """Return what the loads ask, one demand a supply, the main supply first.

    Parameters
    ----------
    requirement : Requirement
        A resolved requirement [-]
    loads : sequence of LoadDemand
        Loads that can be served [-]
    system : str
        The main supply [-]
    trace : Trace, optional
        Takes one line a step where given [-]

    Returns
    -------
    tuple of list of Demand and list of Finding
        No empty demands; the doubts of starting and duty [-]

    Raises
    ------
    OutsideTable
        A figure lies outside a table that has no rule for it.
    SequenceRefused
        Loads wait for each other in a circle.
    """
    demands: list[Demand] = []
    findings: list[Finding] = []
    for supply in dict.fromkeys((system, *(load.supply for load in loads))):
        mine = [load for load in loads if load.supply == supply]
        if mine:
            demand, doubts = demand_of(requirement, supply, mine, trace)
            demands.append(demand)
            findings += doubts
    return demands, findings


def write_demand(requirement: Requirement, system: str, trace: Trace) -> None:
    """Write chapters 1 to 4 and 8 to 10 of a resolved requirement to the trace.

    Parameters
    ----------
    requirement : Requirement
        A resolved requirement [-]
    system : str
        The main supply [-]
    trace : Trace
        Takes the lines [-]

    Returns
    -------
    None
        Nothing; the trace has grown, up to the line that cannot be counted [-]

    Raises
    ------
    TableRefused
        A published table is damaged.
    """
    loads, _ = read_loads(requirement, system, trace)
    with suppress(OutsideTable, SequenceRefused):  # ``sized`` has made it a finding
        demands_by_supply(requirement, loads, system, trace)


def write_checks(answer: Answer, trace: Trace) -> None:
    """Write the chosen sets' rating, fuel, dips and checks to the trace.

    Parameters
    ----------
    answer : Answer
        The answer that is given; it may hold no option [-]
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
    for part in answer.options[0].parts if answer.options else ():
        evaluation = part.evaluation
        measured = evaluate(
            evaluation.set_, evaluation.demand, answer.requirement, trace, count=evaluation.count
        )
        for check in measured.checks:
            verdict = "holds" if check.passed else "does not hold"
            line = (
                f"{evaluation.set_.code}: {check.name} {figure(check.provided)} {check.unit} "
                f"against {figure(check.required)} {check.unit}: {verdict}"
            )
            trace.add("selection", line, check.source)
