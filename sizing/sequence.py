"""Chapter 4: the worst step: what starts at once, on top of what already runs."""

from __future__ import annotations

from collections.abc import Sequence as Ordered
from dataclasses import dataclass

from sizing.nameplate import LoadDemand
from sizing.starting import StartDemand
from sizing.trace import Trace


@dataclass(frozen=True, slots=True)
class Step:
    """One moment of load acceptance.

    ``starting`` and ``running`` hold indices of load rows; before_* is what already runs.
    """

    name: str
    starting: tuple[int, ...]
    running: tuple[int, ...]
    start_kva: float
    start_kw: float
    start_power_factor: float
    before_kw: float
    before_kva: float
    settled_kw: float  # real power added once the start is over: the frequency step


@dataclass(frozen=True, slots=True)
class Sequence:
    """All steps and the worst of them; peak demand with everything that may run together."""

    steps: tuple[Step, ...]
    worst: Step
    peak_kw: float
    peak_kva: float
    order: tuple[int, ...] = ()  # the order assumed or proposed
    order_matters: str = ""  # why an order is proposed, empty otherwise
    worst_kw_step: Step | None = None  # the step that asks most of the engine, where it differs


def running_power(demand: LoadDemand) -> complex:
    """Complex power of a whole row while it runs [kVA]: kW + j kvar, demand factor applied."""
    kvar = max(demand.running_kva**2 - demand.running_kw**2, 0.0) ** 0.5
    return demand.quantity * demand.demand_factor * complex(demand.running_kw, kvar)


def starting_power(start: StartDemand) -> complex:
    """Complex power of a whole row at its start [kVA], all pieces together."""
    kvar = max(start.start_kva**2 - start.start_kw**2, 0.0) ** 0.5
    return start.quantity * complex(start.start_kw, kvar)


def sequence(
    demands: Ordered[LoadDemand], starts: Ordered[StartDemand], trace: Trace | None = None
) -> Sequence:
    """Return every step of load acceptance and the worst of them."""
    begun = {start.index: starting_power(start) for start in starts}
    runs = {demand.index: running_power(demand) for demand in demands}
    steps = []
    for demand in demands:
        others = tuple(
            other.index
            for other in demands
            if other.index != demand.index and other.never_with != demand.name
            and demand.never_with != other.name
            and (demand.float_switch or demand.restarts_itself or other.starts_after != demand.name)
        )  # fmt: skip
        steps.append(_step(demand.name, (demand.index,), others, begun, runs))
    group = tuple(d.index for d in demands if d.restarts_itself or d.float_switch)
    if len(group) > 1:
        steps.append(_step("All that comes back by itself", group, (), begun, runs))
    peak = sum(runs.values())
    worst = max(steps, key=lambda step: step.start_kva)
    worst_kw = max(steps, key=lambda step: max(step.start_kw, step.settled_kw))
    return Sequence(
        tuple(steps), worst, peak.real, abs(peak), worst_kw_step=worst_kw if worst_kw is not worst else None
    )


def _step(
    name: str, starting: tuple[int, ...], running: tuple[int, ...],
    begun: dict[int, complex], runs: dict[int, complex],
) -> Step:  # fmt: skip
    start = sum((begun[i] for i in starting), 0j)
    before = sum((runs[i] for i in running), 0j)
    settled = sum((runs[i] for i in starting), 0j)
    power_factor = start.real / abs(start) if start else 1.0
    return Step(
        name, starting, running, abs(start), start.real, power_factor,
        before.real, abs(before), settled.real,
    )  # fmt: skip
