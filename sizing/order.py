"""Chapter 4: the order of starting by hand that asks for the smallest set."""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Iterable
from collections.abc import Sequence as Ordered
from functools import lru_cache
from typing import NamedTuple

from sizing.job import Beside, Job, read_job
from sizing.plate import LoadDemand
from sizing.starting import StartDemand
from sizing.step import Step
from sizing.steps import free_steps, heaviest_up, make_step, ordered_steps, waves
from sizing.tables import table
from sizing.withstand import tightest, withstand_rule

MOST_NAMES = 6
NOTHING = Beside((), 0j, ())


class OrderPlan(NamedTuple):
    """An order of starting by hand, and the set it asks for at reference, against no order.

    ``order`` names a row once a piece where its pieces start one by one. ``why`` is empty where
    the order saves too little to be worth asking for.
    """

    order: tuple[int, ...]
    needed_kw: float
    unordered_kw: float
    proved: bool
    why: str = ""


class Reference(NamedTuple):
    """The set at which orders are compared, before any set is chosen."""

    reactance_pu: float
    power_factor: float
    step_share: float


def needed_kw(step: Step, application: str) -> float:
    """Return the set that a step asks for, at reference.

    Equation: P = max(cos(phi) X'd S_start (1 - d) / d, P_kick / s, P_before + P_kick).

    Parameters
    ----------
    step : Step
        One step [kVA, kW]
    application : str
        One of ``APPLICATIONS``, for the dip limit d [-]

    Returns
    -------
    float
        Rated power of the smallest set that would take the step [kW]

    Raises
    ------
    TableRefused
        The application has no dip limit.

    Notes
    -----
    The three terms are the dip by its simplest form, the step s that an engine accepts at once,
    and the engine's power in that moment. A yardstick for orders only: the sets of the fleet are
    then checked one by one with their own data.

    Source: chapter 5; step_rules, rows order_*.

    Examples
    --------
    100 kVA on a set with X'd 0.25 under a limit of 25 %: 75 kVA, at 0.8 power factor 60 kW.
    """
    return _asked_kw(step, step.before_kw, step.stands or (), application)


def _asked_kw(step: Step, before_kw: float, stands: tuple[str, ...], application: str) -> float:
    """As `needed_kw`, with what runs beside the step given apart."""
    given = reference()
    share = tightest(stands, application).percent / 100
    dip = given.power_factor * given.reactance_pu * step.dip_kva * (1 - share) / share
    kick = step.kick_kw
    return max(dip, kick / given.step_share, before_kw + kick)


@lru_cache(maxsize=1)
def reference() -> Reference:
    """Return the reference at which orders are compared, from ``step_rules``."""
    rules = table("step_rules")
    return Reference(
        rules.at("value", "order_reference_reactance"),
        rules.at("value", "order_reference_power_factor"),
        rules.at("value", "order_reference_step") / 100,
    )


def best_order(
    demands: Ordered[LoadDemand], starts: Ordered[StartDemand], application: str = "other"
) -> OrderPlan | None:
    """Return the order of starting by hand that asks for the smallest set.

    Equation: min over orders of max over steps of `needed_kw`.

    Parameters
    ----------
    demands : sequence of LoadDemand
        Running demand of each row [-]
    starts : sequence of StartDemand
        Starting demand of each row [-]
    application : str
        One of ``APPLICATIONS`` [-]

    Returns
    -------
    OrderPlan or None
        The best order; ``None`` where fewer than two starts are worked by hand [-]

    Raises
    ------
    SequenceRefused
        Loads wait for each other in a circle.
    TableRefused
        The application has no dip limit.

    Notes
    -----
    Rows that start by themselves count as running from the beginning; their own steps are the
    same in any order. Pieces of a motor row start one by one. The search goes from the last start
    to the first: of all starts that no other one left waits for, the one that asks least with
    everything else left running is put last; then the same for the rest.

    Proof that this is best (the exchange argument of Lawler for a maximum of monotone costs):
    what a start asks, c(j, R), depends on the set R that runs and not on the order in which R
    came up, and never falls when R grows: P_before grows, the tightest limit d of R falls, the
    rest stays. Take any best order that ends in k, and let j be the start that the rule puts
    last. Move j to the end. Starts after j's old place now find j absent: they ask no more. j
    itself asks c(j, all others), by the rule no more than c(k, all others), which the best order
    had to pay. So an order that ends in j is as good, and the argument repeats for the rest. No
    waiting is broken, since nothing waits for j.

    Up to 60 starts every choice is weighed so, and ``proved`` says so. Beyond, starts are sorted:
    those whose running load stands least last, and before that by how much the start exceeds the
    running load, larger first. That is checked as any order is, but not proved best.

    Source: E. L. Lawler, Management Science 19 (1973), one machine, maximum cost (memory).
    """
    job = read_job(demands, starts)
    return plan_order(job, application, free_steps(job), waves(job))


def plan_order(
    job: Job, application: str, free: Iterable[Step], together: Iterable[Step]
) -> OrderPlan | None:
    """As `best_order`, for a job whose steps without an order are known already."""
    by_hand = [i for i in job.indices if not job.itself[i]]
    items = {i: job.pieces(i) if job.demands[i].is_motor else 1 for i in by_hand}
    if sum(items.values()) < 2:
        return None
    floor = max((needed_kw(step, application) for step in together), default=0.0)
    unordered = max(floor, *(needed_kw(step, application) for step in free))
    proved = sum(items.values()) <= table("step_rules").at("value", "order_exact_items")
    order = _Search(job, application, items).run() if proved else _sorted_order(job, items)
    steps = ordered_steps(job, order)
    needed = max(floor, *(needed_kw(step, application) for step in steps))
    return OrderPlan(order, needed, unordered, proved, _why(job, order, needed, unordered))


class _Search:
    """Last start first, by the rule of `best_order`."""

    def __init__(self, job: Job, application: str, items: dict[int, int]) -> None:
        self.job, self.application = job, application
        self.left = dict(items)
        self.part = {i: job.pieces(i) // n for i, n in items.items()}
        self.up = {i: job.pieces(i) for i in job.indices}
        self.up_kw = sum(power.real for power in job.running.values())
        self.rules: Counter[str | None] = Counter(withstand_rule(d) for d in job.demands.values())
        self.stands = self._stands()
        self.bare = {i: make_step(job, "", {i: n}, NOTHING) for i, n in self.part.items()}

    def run(self) -> tuple[int, ...]:
        backwards = []
        while self.left:
            last = min(self._free(), key=self._key)
            backwards.append(last)
            self._take(last)
        return tuple(reversed(backwards))

    def _free(self) -> list[int]:
        """Rows that no row left waits for."""
        left = self.left.keys()
        return [i for i in left if not self.job.followers.get(i, frozenset()) & left]

    def _key(self, index: int) -> tuple[float, float, int]:
        return self._asks(index), self.bare[index].dip_kva, -index

    def _asks(self, index: int) -> float:
        """What the last piece of a row asks with everything else left running [kW]."""
        bare = self.bare[index]
        before_kw, stands = self._beside(index, bare)
        return _asked_kw(bare, before_kw, stands, self.application)

    def _beside(self, index: int, bare: Step) -> tuple[float, tuple[str, ...]]:
        if self.job.groups:
            up = {**self.up, index: self.up[index] - self.part[index]}
            rivals = self.job.apart.get(index, frozenset())
            found = heaviest_up(self.job, {i: n for i, n in up.items() if n and i not in rivals})
            return found.before.real, found.stands
        rule = withstand_rule(self.job.demands[index])
        gone = self.up[index] == self.part[index] and self.rules[rule] == 1
        stands = tuple(one for one in self.stands if one != rule) if gone else self.stands
        return self.up_kw - bare.settled_kw, stands

    def _take(self, index: int) -> None:
        self.up[index] -= self.part[index]
        self.up_kw -= self.bare[index].settled_kw
        self.left[index] -= 1
        if not self.left[index]:
            del self.left[index]
            self.rules[withstand_rule(self.job.demands[index])] -= 1
            self.stands = self._stands()

    def _stands(self) -> tuple[str, ...]:
        """Dip rules of all rows that are up."""
        return tuple(sorted(rule for rule, count in self.rules.items() if rule and count))


def _sorted_order(job: Job, items: dict[int, int]) -> tuple[int, ...]:
    """Large excess of start over running first, rows that stand least last, leaders first."""

    def key(index: int) -> tuple[float, float, int]:
        rule = withstand_rule(job.demands[index])
        stands = table("allowable_dip").at("max_dip_percent", rule) if rule else 100.0
        excess = abs(job.starting[index]) - job.running[index].real
        return -stands, -excess, index

    waits = Counter(i for leader in items for i in job.followers.get(leader, ()))
    ready = [key(i) for i in items if not waits[i]]
    heapq.heapify(ready)
    order: list[int] = []
    while ready:
        index = heapq.heappop(ready)[-1]
        order += [index] * items[index]
        for follower in job.followers.get(index, frozenset()) & items.keys():
            waits[follower] -= 1
            if not waits[follower]:
                heapq.heappush(ready, key(follower))
    return tuple(order)


def _why(job: Job, order: tuple[int, ...], needed: float, unordered: float) -> str:
    saving = table("step_rules").at("value", "order_saving") / 100
    if needed >= unordered * (1 - saving):
        return ""
    names = list(dict.fromkeys(job.name(i) for i in order))
    listed = ", then ".join(names[:MOST_NAMES]) + (
        ", then the rest" if len(names) > MOST_NAMES else ""
    )
    pieces = ", motors of one row one by one" if len(set(order)) < len(order) else ""
    return (
        f"Start {listed}{pieces}: the steps then ask for a set of about {needed:.0f} kW "
        f"instead of {unordered:.0f} kW."
    )
