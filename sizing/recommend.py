"""The method as a table of contents: from a requirement and a fleet to a result."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import islice

from sizing.around import around_checks
from sizing.cautions import cautions
from sizing.combinations import Option, Part, in_rank
from sizing.connection import fitted_leads
from sizing.demand import read_loads
from sizing.doubts import (
    backfeed,
    cannot_count,
    check_line,
    conditions,
    no_set_fits,
    once,
    option_findings,
)
from sizing.easing import in_order, softer_start
from sizing.errors import OutsideTable
from sizing.evaluation import evaluate
from sizing.finding import Finding
from sizing.fleet import GeneratorSet
from sizing.requirement import Requirement
from sizing.result import Result
from sizing.sequence import SequenceRefused
from sizing.supply import SupplyPlan, settle_supply
from sizing.trace import Trace
from sizing.unknowns import unknowns
from sizing.unsure import Answer, explore
from sizing.versions import versions
from sizing.ways import Way, ways


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
    job, doubts = requirement, list[Finding]()
    if unknowns(requirement):
        glance = partial(sized, fleet=fleet, plan=plan, most=1)
        hardest, doubts = explore(requirement, fleet, glance)
        job = hardest.requirement
    answer = sized(job, fleet, plan, trace)
    found = worked(answer, trace)
    findings = once((*plan.findings, *backfeed(requirement.site), *answer.findings, *doubts))
    lines = tuple(trace.lines)
    return Result(answer.demands, found, findings, lines, cautions(), versions())


def sized(
    requirement: Requirement,
    fleet: Sequence[GeneratorSet],
    plan: SupplyPlan,
    trace: Trace | None = None,
    *,
    most: int | None = None,
) -> Answer:
    """Return the answer for a resolved requirement.

    Parameters
    ----------
    requirement : Requirement
        A resolved requirement [-]
    fleet : sequence of GeneratorSet
        Sets in any order [-]
    plan : SupplyPlan
        The main supply, and the ways to serve loads of another one [-]
    trace : Trace, optional
        Takes the lines of chapters 1 to 4 and 8 to 10 where given [-]
    most : int, optional
        Options wanted, from the recommended one down; all where not given [-]

    Returns
    -------
    Answer
        Demands by supply, options ranked, findings of the chapters [-]

    Raises
    ------
    TableRefused
        A published table is damaged.
    """
    if plan.system is None:
        return Answer(requirement, (), (), ())
    loads, findings = read_loads(requirement, plan.system, trace)
    if not loads:
        return Answer(requirement, (), (), tuple(findings))
    try:
        open_ways = ways(requirement, plan, plan.system, loads, trace)
        ranked = (o for way in open_ways for o in way_options(way, fleet, requirement))
        found = tuple(islice(ranked, most))
    except (OutsideTable, SequenceRefused) as refusal:
        return Answer(requirement, (), (), (*findings, cannot_count(refusal)))
    demands, doubts = open_ways[0].demands, list(open_ways[0].findings)
    if found:
        demands = tuple(part.evaluation.demand for part in found[0].parts)
        doubts += [*conditions(found), *option_findings(found[0], requirement)]
    else:
        doubts += [no_set_fits(fleet, demand, requirement) for demand in demands]
    return Answer(requirement, demands, found, (*findings, *doubts))


def way_options(
    way: Way, fleet: Sequence[GeneratorSet], requirement: Requirement
) -> Iterator[Option]:
    """Yield the options of one way to serve the loads, and what would let a smaller set do.

    Parameters
    ----------
    way : Way
        Demands by supply [-]
    fleet : sequence of GeneratorSet
        Sets in any order [-]
    requirement : Requirement
        A resolved requirement [-]

    Yields
    ------
    Option
        Ranked; none where nothing fits [-]

    Raises
    ------
    OutsideTable
        A figure lies outside a table that has no rule for it.
    SequenceRefused
        Loads wait for each other in a circle.
    """
    first: Option | None = None
    for option in in_rank(fleet, way.demands, requirement):
        first = first or option
        yield option
    if len(way.demands) > 1 or requirement.site.redundancy != "n" or way.name == "transformer":
        return
    yield from in_order(fleet, way.demands[0], requirement, first)
    yield from softer_start(fleet, way.demands[0], requirement, first)


def worked(answer: Answer, trace: Trace) -> tuple[Option, ...]:
    """Return the options with the first one worked out in full, line by line in the trace.

    Parameters
    ----------
    answer : Answer
        The answer that is given; it may hold no option [-]
    trace : Trace
        Takes rating, fuel, dips, surroundings and checks of the first option [-]

    Returns
    -------
    tuple of Option
        The same options; the first one's frequency dip has its curve [-]

    Raises
    ------
    KeyError
        A demand's supply is not a known system.
    """
    if not answer.options:
        return ()
    first, *rest = answer.options
    parts = tuple(_worked_part(part, answer.requirement, trace) for part in first.parts)
    return (replace(first, parts=parts), *rest)


def _worked_part(part: Part, requirement: Requirement, trace: Trace) -> Part:
    """The part with its evaluation done once more, every line written."""
    rough = part.evaluation
    found = evaluate(rough.set_, rough.demand, requirement, trace, count=rough.count)
    if found.demand.leads:
        fitted_leads(found.demand.leads, found.set_, found.supply, trace)
    around, _ = around_checks(part.set_, requirement, part.quantity, trace)
    done = replace(part, evaluation=found, around=around)
    for check in done.checks:
        trace.add("selection", f"{part.set_.code}: {check_line(check)}", check.source)
    return done
