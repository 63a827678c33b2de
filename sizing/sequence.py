"""Chapter 4: the worst step: what starts at once, on top of what already runs."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from collections.abc import Sequence as Ordered
from dataclasses import dataclass, replace

from sizing.job import Job, read_job
from sizing.ladder import voltage_lost
from sizing.order import OrderPlan, plan_order
from sizing.plate import LoadDemand
from sizing.starting import StartDemand
from sizing.step import Step
from sizing.steps import free_steps, ordered_steps, waves
from sizing.tables import table
from sizing.together import SequenceRefused, heaviest
from sizing.trace import Trace

__all__ = ["Sequence", "SequenceRefused", "Step", "sequence"]
DIRECTIONS = 91  # whole degrees from all kilowatts to all kilovars
MOST_LINES = 12
EPSILON = 1e-9


@dataclass(frozen=True, slots=True)
class Sequence:
    """All steps and the worst of them; peak demand with everything that may run together.

    ``worst`` asks most of the alternator (voltage dip), ``worst_kw_step`` is the largest step in
    kilowatts. ``engine_steps`` are those of which one asks most of any engine: the largest step,
    the largest beyond what boost still gives at once, and the largest in all, most often one and
    the same. ``momentary_kw`` is the most real power at any moment of any step.
    """

    steps: tuple[Step, ...]
    worst: Step
    peak_kw: float
    peak_kva: float
    order: tuple[int, ...] = ()  # the order assumed or proposed
    order_matters: str = ""  # why an order is proposed, empty otherwise
    worst_kw_step: Step | None = None
    momentary_kw: float = 0.0
    engine_steps: tuple[Step, ...] = ()
    order_proved: bool = False


def sequence(
    demands: Ordered[LoadDemand],
    starts: Ordered[StartDemand],
    trace: Trace | None = None,
    *,
    application: str = "other",
    order: tuple[int, ...] = (),
) -> Sequence:
    """Return every step of load acceptance, the worst of them, and the peak.

    Equation: S_start = sum of P + jQ over what starts; S_before = sum over what runs beside it.

    Parameters
    ----------
    demands : sequence of LoadDemand
        Running demand of each row [-]
    starts : sequence of StartDemand
        Starting demand of each row; a row without one starts as it runs [-]
    trace : Trace, optional
        Takes the lines of the calculation where given [-]
    application : str
        One of ``APPLICATIONS``, for the dip limits under which orders are compared [-]
    order : tuple of int
        Row indices in the order of start that is to be kept, a row named once a piece where its
        pieces start one by one; empty where no order is known [-]

    Returns
    -------
    Sequence
        Steps in the order of the rows, then what comes back together [kW, kVA]

    Raises
    ------
    SequenceRefused
        Loads wait for each other in a circle.
    TableRefused
        The application has no dip limit.

    Notes
    -----
    Without an order any row may be the last to start, on top of all others save those that start
    after it. A row on a float switch or one that restarts itself may start at any moment, on top
    of everything that may run with it, its own followers included. All such rows start at once
    when the supply comes back, in waves where one starts after another; rows worked by hand are
    off by then. All pieces of a row are on a common start. Of rows that never run together the
    heavier choice runs. Demand factors lessen what runs, not what starts.

    An inrush of lamps, electronics or transformers is over within some cycles: it dips the
    voltage, but an engine does not feel it.

    Conservative: kilowatts of a start are taken at full voltage.

    Source: common practice, no source; the vector sum is circuit theory.

    Examples
    --------
    Two 100 kVA starts at 0.2 power factor come back together: 200 kVA at 0.2.
    """
    job = read_job(demands, starts)
    together = waves(job)
    steps = ordered_steps(job, order) if order else free_steps(job)
    found = _judge(job, (*steps, *together))
    if order:
        found = replace(found, order=order)
    elif plan := plan_order(job, application, steps, together):
        found = _with_proposal(found, plan)
    if trace is not None:
        _write(trace, job, found)
    return found


def _judge(job: Job, steps: tuple[Step, ...]) -> Sequence:
    """The worst steps and the peak."""
    peak_kw, peak_kva = _peak(job)
    if not steps:
        steps = (Step("Nothing starts", (), (), 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, None, ()),)
    hardest = _hardness(max(peak_kva, max(step.start_kva for step in steps)))
    engine = _engine_steps(steps)
    return Sequence(
        steps,
        max(steps, key=hardest),
        peak_kw,
        peak_kva,
        worst_kw_step=engine[0],
        momentary_kw=max(step.momentary_kw for step in steps),
        engine_steps=engine,
    )


def _engine_steps(steps: tuple[Step, ...]) -> tuple[Step, ...]:
    """The steps that can be the hardest for an engine, the largest first.

    With a share a of torque there at once, an engine at load b has a (1 - b) in hand, so the
    deficit is kick - a (1 - b): kick + a b ranks it. Past the rating only kick + b counts.
    """
    at_once = table("step_rules").at("value", "engine_at_once")
    largest = max(steps, key=lambda step: (step.kick_kw, step.before_kw))
    beyond = max(steps, key=lambda step: step.kick_kw + at_once * step.before_kw)
    in_all = max(steps, key=lambda step: (step.momentary_kw, step.kick_kw))
    return tuple({id(step): step for step in (largest, beyond, in_all)}.values())


def _hardness(base_kva: float) -> Callable[[Step], tuple[float, float]]:
    """Dip of a step on a set about the size of the job, to tell which step is the worst."""
    reactance = table("step_rules").at("value", "order_reference_reactance")

    def dip(step: Step) -> tuple[float, float]:
        return voltage_lost(step, reactance * 1j, base_kva), step.before_kw

    return dip if base_kva else lambda step: (0.0, 0.0)


def _peak(job: Job) -> tuple[float, float]:
    """Most kilowatts and most kilovolt-amperes of rows that may run together.

    Without exclusions both are the plain vector sum. With them the choice that gives most
    kilovolt-amperes lies at the hull of all sums, in the direction of its own angle: each whole
    degree from kilowatts to kilovars is tried, which finds it within 0.01 %.
    """
    if not job.groups:
        return job.total.real, abs(job.total)
    largest = abs(job.total)
    for degree in range(DIRECTIONS):
        towards = cmath.rect(1.0, math.radians(degree))
        largest = max(largest, abs(job.power(_heaviest_towards(job, towards))))
    return job.total.real, largest


def _heaviest_towards(job: Job, direction: complex) -> frozenset[int]:
    """The rows that give most power in one direction of the plane of kW and kvar."""
    return heaviest(job.indices, job.apart, lambda i: max(0.0, (job.running[i] / direction).real))


def _with_proposal(found: Sequence, plan: OrderPlan) -> Sequence:
    """The same sequence with an order where one would ask for a smaller set."""
    if not plan.why:
        return found
    return replace(found, order=plan.order, order_matters=plan.why, order_proved=plan.proved)


def _write(trace: Trace, job: Job, found: Sequence) -> None:
    source = "vector sum; common practice, no source"
    trace.add(
        "sequence",
        f"running together: {_sum_line(job)} = {found.peak_kw:.2f} kW, {found.peak_kva:.2f} kVA",
        source,
    )
    shown = list(found.steps)
    if len(shown) > MOST_LINES:
        hardest = (found.worst, found.worst_kw_step or found.worst)
        shown = list({id(step): step for step in hardest}.values())
    for step in shown:
        trace.add("sequence", _step_line(step), source)
    if found.order_matters:
        trace.add("sequence", found.order_matters, "start order, see its proof")


def _sum_line(job: Job) -> str:
    if len(job.chosen) > MOST_LINES:
        return f"P + jQ over {len(job.chosen)} rows"
    rows = (job.running[i] for i in job.chosen)
    return " + ".join(f"({row.real:.2f} + j{row.imag:.2f})" for row in rows) or "nothing"


def _step_line(step: Step) -> str:
    balanced = ""
    if step.dip_kva > step.start_kva * (1 + EPSILON):
        balanced = f", single-phase: counts as {step.balanced_start_kva:.2f} kVA balanced"
    verb = "start" if len(step.starting) > 1 else "starts"
    return (
        f"{step.name} {verb} with {step.start_kva:.2f} kVA at {step.start_power_factor:.2f} = "
        f"{step.start_kw:.2f} kW{balanced}; beside it run {step.before_kw:.2f} kW, "
        f"{step.before_kva:.2f} kVA; settles at {step.settled_kw:.2f} kW"
    )
