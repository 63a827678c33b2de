"""Chapter 7: ways to carry the whole job: one set, two in parallel, two by voltage, one spare."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf

from sizing.accessories import Accessory, accessories, load_bank
from sizing.around import around_checks
from sizing.check import Check
from sizing.demand import Demand
from sizing.evaluation import Evaluation
from sizing.fleet import GeneratorSet
from sizing.limits import limit
from sizing.requirement import Requirement
from sizing.selection import by_size, passing

RANK = (
    "one_set",
    "spare_set",
    "parallel",
    "by_voltage",
    "in_order",
    "softer_start",
    "next_larger",
    "load_bank",
)

WHY_ONLY_PAIR = "No single set of the fleet is enough; two equal sets share the load."


@dataclass(frozen=True, slots=True)
class Part:
    """Sets of one type that serve one supply, and what goes along with them."""

    evaluation: Evaluation
    set_: GeneratorSet  # one machine; ``evaluation`` may measure the composite
    quantity: int
    accessories: tuple[Accessory, ...]
    around: tuple[Check, ...] = ()

    @property
    def checks(self) -> tuple[Check, ...]:
        """All checks: of the set, and of what is around it, sound named once."""
        own = {check.name for check in self.evaluation.checks}
        return (*self.evaluation.checks, *(one for one in self.around if one.name not in own))


@dataclass(frozen=True, slots=True)
class Option:
    """One way to carry the whole job, with the reason to take it."""

    kind: str  # one of ``RANK``
    parts: tuple[Part, ...]
    why: str

    @property
    def rated_kw(self) -> float:
        """Prime power of all machines together [kW]."""
        return sum(part.quantity * part.set_.prime_kw for part in self.parts)

    @property
    def machines(self) -> int:
        """Machines to tow [-]."""
        return sum(part.quantity for part in self.parts)


def options(
    fleet: Sequence[GeneratorSet], demands: Sequence[Demand], requirement: Requirement
) -> tuple[Option, ...]:
    """Return the ways to carry a job, the recommended one first.

    Parameters
    ----------
    fleet : sequence of GeneratorSet
        Sets in any order [-]
    demands : sequence of Demand
        One a supply; the first is the main supply [-]
    requirement : Requirement
        A resolved requirement [-]

    Returns
    -------
    tuple of Option
        Ranked by stated reasons; empty where nothing fits [-]

    Raises
    ------
    KeyError
        A demand's supply is not a known system.

    Notes
    -----
    Where a spare is asked for (N+1), an option without one is left out. The rank: the fewest
    machines that satisfy the redundancy, then the smallest; a larger set and a load bank are
    shown beside the smallest set, never before it.
    """
    return tuple(in_rank(fleet, demands, requirement))


def in_rank(
    fleet: Sequence[GeneratorSet], demands: Sequence[Demand], requirement: Requirement
) -> Iterator[Option]:
    """Yield the ways to carry a job as far as the caller asks, the recommended one first.

    Parameters
    ----------
    fleet : sequence of GeneratorSet
        Sets in any order [-]
    demands : sequence of Demand
        One a supply; the first is the main supply [-]
    requirement : Requirement
        A resolved requirement [-]

    Yields
    ------
    Option
        As `options` has them [-]

    Raises
    ------
    KeyError
        A demand's supply is not a known system.
    """
    if len(demands) > 1:
        yield from _by_voltage(fleet, demands, requirement)
    elif requirement.site.redundancy == "n+1":
        yield from _with_spare(fleet, demands[0], requirement)
    else:
        yield from _on_its_own(fleet, demands[0], requirement)


def smaller(
    kind: str,
    fleet: Sequence[GeneratorSet],
    eased: Demand,
    requirement: Requirement,
    first: Option | None,
    advice: str,
) -> tuple[Option, ...]:
    """Return the smallest set for an eased demand, where the easing saves a size.

    Parameters
    ----------
    kind : str
        ``in_order`` or ``softer_start`` [-]
    fleet : sequence of GeneratorSet
        Sets in any order [-]
    eased : Demand
        The demand after what ``advice`` says [-]
    requirement : Requirement
        A resolved requirement [-]
    first : Option or None
        The recommendation without the easing; ``None`` where nothing fits [-]
    advice : str
        What the customer must do for it, a clause without its full stop [-]

    Returns
    -------
    tuple of Option
        Empty, or one option of a smaller set [-]

    Raises
    ------
    KeyError
        The demand's supply is not a known system.
    """
    less_kw = inf if first is None else first.rated_kw
    below = [set_ for set_ in fleet if set_.prime_kw < less_kw]
    found = next(passing(below, eased, requirement), None)
    if found is None:
        return ()
    why = f"{advice}: {found.set_.code} carries it."
    return (Option(kind, (_part(found.set_, found, requirement),), why),)


def composite(set_: GeneratorSet, count: int) -> GeneratorSet:
    """Return the set that ``count`` equal sets in parallel amount to.

    Equation: P = n P1 (1 - sharing margin); reactance in per unit and stored energy unchanged.

    Parameters
    ----------
    set_ : GeneratorSet
        One machine [-]
    count : int
        Machines that share the load, 1 or more [-]

    Returns
    -------
    GeneratorSet
        The composite; its code is ``2 x T60`` [-]

    Raises
    ------
    TableRefused
        The table of limits is damaged.

    Notes
    -----
    Conservative: machines do not share exactly alike, so the sum counts less the margin by which
    ISO 8528-5 lets them differ. One machine is returned unchanged.
    """
    if count == 1:
        return set_
    usable = count * (1 - limit("sharing_margin").value / 100)
    quarter, half, three, full = (count * burn for burn in set_.fuel_l_h)
    return replace(
        set_,
        code=f"{count} x {set_.code}",
        prime_kw=usable * set_.prime_kw,
        prime_kva=usable * set_.prime_kva,
        single_phase_kva=set_.single_phase_kva and usable * set_.single_phase_kva,
        fuel_l_h=(quarter, half, three, full),
        tank_l=count * set_.tank_l,
        cam_sets=count * set_.cam_sets,
    )


def _part(
    set_: GeneratorSet, evaluation: Evaluation, requirement: Requirement, quantity: int = 1
) -> Part:
    around, _ = around_checks(set_, requirement, quantity)
    return Part(evaluation, set_, quantity, accessories(evaluation, requirement), around)


def _on_its_own(
    fleet: Sequence[GeneratorSet], demand: Demand, requirement: Requirement
) -> Iterator[Option]:
    """The smallest set, two that share the load, the next larger one, and the load bank."""
    smallest = next(passing(fleet, demand, requirement), None)
    if smallest is None:
        yield from _parallel(fleet, demand, requirement, None)
        return
    first = Option(
        "one_set", (_part(smallest.set_, smallest, requirement),), _why_smallest(smallest)
    )
    yield first
    yield from _parallel(fleet, demand, requirement, first)
    least_kw = smallest.set_.prime_kw * (1 + limit("next_step").value / 100)
    above = [set_ for set_ in fleet if set_.prime_kw >= least_kw]
    larger = next(passing(above, demand, requirement), None)
    if larger is not None:
        yield _next_larger(larger, smallest, requirement)
    yield from _with_load_bank(first)


def _why_smallest(one: Evaluation) -> str:
    return f"The smallest set of the fleet that passes every check at {one.supply}."


def _next_larger(one: Evaluation, smallest: Evaluation, requirement: Requirement) -> Option:
    room = one.rating.site_kw - smallest.rating.site_kw
    why = f"The next larger set: {room:.0f} kW more at the site for load not yet known."
    return Option("next_larger", (_part(one.set_, one, requirement),), why)


def _with_load_bank(first: Option) -> list[Option]:
    """The same set with a load bank where the mean load is too light for the engine."""
    part = first.parts[0]
    bank = load_bank(part.evaluation)
    if bank is None:
        return []
    more = replace(part, accessories=(*part.accessories, bank))
    return [Option("load_bank", (more,), bank.why + " A load bank keeps the engine clean.")]


def _parallel(
    fleet: Sequence[GeneratorSet],
    demand: Demand,
    requirement: Requirement,
    single: Option | None,
) -> list[Option]:
    """Two equal sets that share the load, unless together they are far larger than one set."""
    count = int(limit("parallel_sets").value)
    most_kw = (1 + limit("parallel_excess").value / 100) * single.rated_kw if single else inf
    able = [one for one in _parallel_sets(fleet, count) if count * one.prime_kw <= most_kw]
    for found, set_ in _carriers(able, demand, requirement, count):
        why = _why_pair(set_, found) if single else WHY_ONLY_PAIR
        return [Option("parallel", (_part(set_, found, requirement, count),), why)]
    return []


def _carriers(
    able: Iterable[GeneratorSet], demand: Demand, requirement: Requirement, count: int
) -> Iterator[tuple[Evaluation, GeneratorSet]]:
    """Composites of ``count`` sets that pass, each with its one machine."""
    large = (one for one in able if count * one.prime_kw >= demand.sequence.peak_kw)
    pairs = [(composite(one, count), one) for one in large]
    machines = {whole.code: one for whole, one in pairs}
    for found in passing((whole for whole, _ in pairs), demand, requirement, count=count):
        yield found, machines[found.set_.code]


def _parallel_sets(fleet: Iterable[GeneratorSet], count: int) -> list[GeneratorSet]:
    able = (set_ for set_ in fleet if set_.can_parallel and set_.quantity >= count)
    return sorted(able, key=by_size)


def _why_pair(set_: GeneratorSet, found: Evaluation) -> str:
    alone_kw = found.rating.site_kw / found.count
    if 0 < found.demand.profile.mean_kw <= limit("mean_load").value / 100 * alone_kw:
        return f"Two equal sets share the load; one {set_.code} carries the mean load alone."
    return "Two equal sets share the load; where one fails, part of the load goes on."


def _with_spare(
    fleet: Sequence[GeneratorSet], demand: Demand, requirement: Requirement
) -> tuple[Option, ...]:
    """N+1: one set, or two, carry the whole load and one more stands by, synchronised."""
    found: list[Option] = []
    for count in range(1, int(limit("parallel_sets").value) + 1):
        found += _spare_beside(fleet, demand, requirement, count)
    return tuple(sorted(found, key=_rank))


def _spare_beside(
    fleet: Sequence[GeneratorSet], demand: Demand, requirement: Requirement, count: int
) -> list[Option]:
    """The smallest ``count`` equal sets that carry the load, with one more of them."""
    able = _parallel_sets(fleet, count + 1)
    for found, set_ in _carriers(able, demand, requirement, count):
        return [
            Option("spare_set", (_part(set_, found, requirement, count + 1),), _why_spare(count))
        ]
    return []


def _why_spare(count: int) -> str:
    carriers = "one set carries" if count == 1 else f"{count} sets carry"
    return f"N+1 was asked for: {carriers} the whole load, one more takes over if one fails."


def _by_voltage(
    fleet: Sequence[GeneratorSet], demands: Sequence[Demand], requirement: Requirement
) -> tuple[Option, ...]:
    """A set, or an option of sets, for each supply; nothing where one supply finds none."""
    each = [next(in_rank(fleet, [demand], requirement), None) for demand in demands]
    found = [option for option in each if option is not None]
    if len(found) < len(demands):
        return ()
    parts = tuple(part for option in found for part in option.parts)
    supplies = " and ".join(demand.supply for demand in demands)
    why = f"The loads take {supplies}; one set stands at one selector position at a time."
    return (Option("by_voltage", parts, why),)


def _rank(option: Option) -> tuple[int, int, float]:
    return RANK.index(option.kind), option.machines, option.rated_kw
