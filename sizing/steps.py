"""Chapter 4, underneath: the steps that a job can bring."""

from __future__ import annotations

from bisect import insort
from collections import Counter
from collections.abc import Iterable, Mapping
from itertools import chain

from sizing.job import Beside, Job, balanced_start_kva
from sizing.step import Step
from sizing.together import heaviest
from sizing.withstand import withstand_rule


def free_steps(job: Job) -> list[Step]:
    """Each row as the last to start, on top of what may run beside it."""
    return [make_step(job, job.name(i), {i: job.pieces(i)}, job.beside(i)) for i in job.indices]


def ordered_steps(job: Job, order: tuple[int, ...]) -> list[Step]:
    """Rows that start by themselves on top of all, then the rows worked by hand in their order.

    A row that the order names several times starts in as many equal parts.
    """
    up = Up(job)
    steps = []
    for index in [i for i in job.indices if job.itself[i]]:
        up.add(index, job.pieces(index))
        steps.append(make_step(job, job.name(index), {index: job.pieces(index)}, job.beside(index)))
    parts = Counter(order)
    for index in order:
        pieces = job.pieces(index) // parts[index]
        part = "" if parts[index] == 1 else f", piece {up.pieces.get(index, 0) + pieces}"
        steps.append(make_step(job, job.name(index) + part, {index: pieces}, up.beside(index)))
        up.add(index, pieces)
    return steps


class Up:
    """The pieces that are up while rows start one after another.

    Rows that exclude nobody are summed as they come. Of each group of tied rows the heaviest
    choice is kept, and worked out anew only where a row of that group comes up or starts.
    """

    def __init__(self, job: Job) -> None:
        self.job = job
        self.pieces: dict[int, int] = {}
        self.free: list[int] = []
        self.total = 0j
        self.rules: set[str] = set()
        self.group_of = {i: n for n, group in enumerate(job.groups) for i in group}
        self.tied: dict[int, Beside] = {}

    def add(self, index: int, pieces: int) -> None:
        """Let so many more pieces of a row run."""
        new = index not in self.pieces
        self.pieces[index] = self.pieces.get(index, 0) + pieces
        group = self.group_of.get(index)
        if group is not None:
            self.tied[group] = self._of_group(group)
            return
        if new:
            insort(self.free, index)
        self.total += pieces / self.job.pieces(index) * self.job.running[index]
        rule = withstand_rule(self.job.demands[index])
        self.rules |= {rule} if rule else set()

    def beside(self, index: int) -> Beside:
        """What runs when a row starts now."""
        tied = self.tied
        group = self.group_of.get(index)
        if group is not None:
            tied = {**tied, group: self._of_group(group, self.job.apart[index])}
        if not tied:
            return Beside(tuple(self.free), self.total, tuple(sorted(self.rules)))
        return Beside(
            tuple(sorted(chain(self.free, *(beside.running for beside in tied.values())))),
            self.total + sum(beside.before for beside in tied.values()),
            tuple(sorted(self.rules.union(*(beside.stands for beside in tied.values())))),
        )

    def _of_group(self, group: int, rivals: frozenset[int] = frozenset()) -> Beside:
        up = {i: self.pieces[i] for i in self.job.groups[group] - rivals if i in self.pieces}
        return heaviest_up(self.job, up)


def waves(job: Job) -> list[Step]:
    """What comes back by itself with the supply: at once, or in waves by ``starts_after``."""
    back = [i for i in job.indices if job.itself[i]]
    chosen = heaviest(back, job.apart, lambda i: abs(job.starting[i]))
    depth = _depths(job, chosen)
    steps: list[Step] = []
    for level in sorted(set(depth.values())):
        wave = {i: job.pieces(i) for i in job.indices if depth.get(i) == level}
        if len(wave) > 1:
            up = tuple(i for i in job.indices if depth.get(i, level) < level)
            beside = Beside(up, job.power(up), _rules(job, up))
            steps.append(make_step(job, _together(job, wave), wave, beside))
    return steps


def make_step(job: Job, name: str, starting: Mapping[int, int], beside: Beside) -> Step:
    """One step: so many pieces of these rows on top of what runs beside them."""
    shares = {i: n / job.pieces(i) for i, n in starting.items()}
    start = sum((share * job.starting[i] for i, share in shares.items()), 0j)
    settled = sum(share * job.running[i].real for i, share in shares.items())
    sustained = sum(
        share * (job.running[i] if i in job.inrush else job.starting[i]).real
        for i, share in shares.items()
    )
    power_factor = start.real / abs(start) if start else 1.0
    return Step(
        name, tuple(starting), beside.running, abs(start), start.real, power_factor,
        beside.before.real, abs(beside.before), settled,
        balanced_start_kva(job, starting, abs(start)), beside.stands, sustained,
    )  # fmt: skip


def heaviest_up(job: Job, up: Mapping[int, int]) -> Beside:
    """Return the heaviest choice of what is up and may run at once.

    Parameters
    ----------
    job : Job
        The rows [-]
    up : mapping of int to int
        Row index to its pieces that run [-]

    Returns
    -------
    Beside
        Rows, power [kVA], and the dip rules of all that is up, chosen or not [-]

    Raises
    ------
    KeyError
        A row is not in the job.
    """

    def power(i: int) -> complex:
        return up[i] / job.pieces(i) * job.running[i]

    chosen = heaviest(up, job.apart, lambda i: power(i).real)
    running = tuple(i for i in job.indices if i in chosen)
    return Beside(running, sum((power(i) for i in running), 0j), _rules(job, up))


def _rules(job: Job, rows: Iterable[int]) -> tuple[str, ...]:
    return tuple(sorted({rule for i in rows if (rule := withstand_rule(job.demands[i]))}))


def _depths(job: Job, chosen: frozenset[int]) -> dict[int, int]:
    """For each chosen row how many chosen rows must be up one after another before it starts."""
    ahead: dict[int, list[int]] = {i: [] for i in chosen}
    for leader in chosen:
        for follower in job.followers.get(leader, frozenset()) & chosen:
            ahead[follower].append(leader)
    depth: dict[int, int] = {}
    for i in sorted(chosen, key=lambda i: (len(ahead[i]), i)):
        depth[i] = max((depth[j] + 1 for j in ahead[i]), default=0)
    return depth


def _together(job: Job, indices: Iterable[int]) -> str:
    names = [job.name(i) for i in indices]
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return f"{', '.join(names[:3])}{more} together"
