"""Chapters 3 and 4, turned round: what would let a smaller set carry the same job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from sizing.combinations import Option, smaller
from sizing.demand import Demand, demand_of, in_this_order, read_loads
from sizing.fleet import GeneratorSet
from sizing.requirement import Requirement

SOFT = "soft_starter"


def in_order(
    fleet: Sequence[GeneratorSet], demand: Demand, requirement: Requirement, first: Option | None
) -> tuple[Option, ...]:
    """Return the smaller set that an order of starting would do with, where there is one.

    Parameters
    ----------
    fleet : sequence of GeneratorSet
        Sets in any order [-]
    demand : Demand
        The demand without an order; its sequence may propose one [-]
    requirement : Requirement
        A resolved requirement [-]
    first : Option or None
        The recommendation; ``None`` where nothing fits [-]

    Returns
    -------
    tuple of Option
        Empty, or one option [-]

    Raises
    ------
    OutsideTable
        A figure lies outside a table that has no rule for it.

    Examples
    --------
    "Start Pump, then Heater: T60 carries it."
    """
    if not demand.sequence.order_matters:
        return ()
    order = demand.sequence.order
    ordered = in_this_order(demand, requirement.application, order)
    names = {load.index: load.name for load in demand.loads}
    advice = f"Start {', then '.join(dict.fromkeys(names[index] for index in order))}"
    return smaller("in_order", fleet, ordered, requirement, first, advice)


def softer_start(
    fleet: Sequence[GeneratorSet], demand: Demand, requirement: Requirement, first: Option | None
) -> tuple[Option, ...]:
    """Return the smaller set that a soft starter on the worst motor would do with.

    Parameters
    ----------
    fleet : sequence of GeneratorSet
        Sets in any order [-]
    demand : Demand
        The demand as asked [-]
    requirement : Requirement
        A resolved requirement [-]
    first : Option or None
        The recommendation; ``None`` where nothing fits [-]

    Returns
    -------
    tuple of Option
        Empty, or one option; only where the start alone makes the set large: nothing fits, or
        its mean load is too light [-]

    Raises
    ------
    OutsideTable
        A figure lies outside a table that has no rule for it.

    Notes
    -----
    The driven machine must stand the lower starting torque: an owner of the pump decides.
    """
    motors = {load.index: load for load in demand.loads if load.is_motor}
    worst = [index for index in demand.sequence.worst.starting if index in motors]
    if not worst or not _start_governs(first):
        return ()
    softened = with_soft_starters(requirement, worst)
    loads, _ = read_loads(softened, demand.supply)
    served = {load.index for load in demand.loads}
    eased, _ = demand_of(softened, demand.supply, [one for one in loads if one.index in served])
    names = " and ".join(motors[index].name for index in worst)
    advice = f"With a soft starter on {names}, where the machine stands its lower torque"
    return smaller("softer_start", fleet, eased, softened, first, advice)


def with_soft_starters(requirement: Requirement, indices: Sequence[int]) -> Requirement:
    """Return the requirement with soft starters on these loads.

    Parameters
    ----------
    requirement : Requirement
        A resolved requirement [-]
    indices : sequence of int
        Indices of load rows [-]

    Returns
    -------
    Requirement
        All else unchanged [-]

    Raises
    ------
    IndexError
        There is no such load.
    """
    loads = list(requirement.loads)
    for index in indices:
        loads[index] = replace(loads[index], starting=SOFT)
    return replace(requirement, loads=tuple(loads))


def _start_governs(first: Option | None) -> bool:
    """Whether nothing fits, or the set that fits is larger than its running load warrants."""
    if first is None:
        return True
    checks = (check for part in first.parts for check in part.evaluation.checks)
    return any(check.name == "light_load" and not check.passed for check in checks)
