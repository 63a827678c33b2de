"""Chapter 4, underneath: the rows of a job with their power, ties and dip rules, read once."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from collections.abc import Sequence as Ordered
from dataclasses import dataclass
from typing import NamedTuple

from sizing.plate import LoadDemand
from sizing.starting import StartDemand
from sizing.together import Graph, exclusions, followers, groups_apart, heaviest
from sizing.withstand import withstand_rule

NONE: frozenset[int] = frozenset()
BRIEF_KINDS = frozenset({"lamp", "electronics", "ups", "charger", "transformer"})


class Beside(NamedTuple):
    """What runs beside a start: row indices, their complex power [kVA], the dip rules they set."""

    running: tuple[int, ...]
    before: complex
    stands: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Job:
    """Rows of one supply by index: power while running and at the start, ties, dip rules."""

    indices: tuple[int, ...]
    demands: Mapping[int, LoadDemand]
    running: Mapping[int, complex]  # whole row, demand factor applied [kVA]
    starting: Mapping[int, complex]  # whole row [kVA]
    inrush: frozenset[int]  # rows whose start is over within some cycles
    itself: Mapping[int, bool]  # starts without a hand: float switch, or back with the supply
    apart: Graph
    followers: Graph
    groups: tuple[frozenset[int], ...]  # rows tied by exclusions
    chosen: tuple[int, ...]  # the heaviest rows that may all run at once
    total: complex  # their power [kVA]
    rules: Counter[str]  # dip rules, counted over all rows

    def name(self, index: int) -> str:
        """Name of a row."""
        return self.demands[index].name

    def pieces(self, index: int) -> int:
        """Quantity of a row."""
        return self.demands[index].quantity

    def absent(self, index: int) -> frozenset[int]:
        """Rows that cannot run while this one starts: itself, its rivals, and its followers
        where it starts by hand (later on a float switch restarts with its followers up)."""
        later = NONE if self.itself[index] else self.followers.get(index, NONE)
        return self.apart.get(index, NONE) | later | {index}

    def beside(self, index: int) -> Beside:
        """What runs while a row starts, the heaviest choice among what may."""
        absent = self.absent(index)
        stands = self.stands_without(absent)
        touched = [group for group in self.groups if group & absent]
        if not touched and len(absent) == 1:
            place = self.chosen.index(index)
            running = self.chosen[:place] + self.chosen[place + 1 :]
            return Beside(running, self.total - self.running[index] if running else 0j, stands)
        again = NONE.union(*touched) - absent
        kept = set(self.chosen) - absent - NONE.union(*touched)
        kept |= heaviest(again, self.apart, lambda i: self.running[i].real)
        running = tuple(i for i in self.indices if i in kept)
        return Beside(running, self.power(running), stands)

    def power(self, rows: Iterable[int]) -> complex:
        """Complex power of rows that run [kVA]."""
        return sum((self.running[i] for i in rows), 0j)

    def stands_without(self, absent: Iterable[int]) -> tuple[str, ...]:
        """Dip rules of all rows but the absent ones, each once, sorted."""
        left = Counter(self.rules)
        left.subtract(rule for i in absent if (rule := withstand_rule(self.demands[i])))
        return tuple(sorted(rule for rule, count in left.items() if count > 0))


def read_job(demands: Ordered[LoadDemand], starts: Ordered[StartDemand]) -> Job:
    """Return the rows of one supply, ready to be set in sequence.

    Parameters
    ----------
    demands : sequence of LoadDemand
        Running demand of each row [-]
    starts : sequence of StartDemand
        Starting demand of each row; a row without one starts as it runs [-]

    Returns
    -------
    Job
        Rows in their order [kVA]

    Raises
    ------
    SequenceRefused
        Loads wait for each other in a circle.
    """
    running = {d.index: running_power(d) for d in demands}
    starting = {**running, **{s.index: starting_power(s) for s in starts}}
    apart = exclusions(demands)
    chosen = heaviest(running, apart, lambda i: running[i].real)
    return Job(
        indices=tuple(running),
        demands={d.index: d for d in demands},
        running=running,
        starting=starting,
        inrush=_inrush_rows(demands, starts),
        itself={d.index: d.float_switch or d.restarts_itself for d in demands},
        apart=apart,
        followers=followers(demands),
        groups=tuple(groups_apart(apart)),
        chosen=tuple(i for i in running if i in chosen),
        total=sum((power for i, power in running.items() if i in chosen), 0j),
        rules=Counter(rule for d in demands if (rule := withstand_rule(d))),
    )


def _inrush_rows(demands: Ordered[LoadDemand], starts: Ordered[StartDemand]) -> frozenset[int]:
    """Rows whose start is over within some cycles; behind a panel a motor may start."""
    brief = {demand.index for demand in demands if demand.kind in BRIEF_KINDS}
    return frozenset(s.index for s in starts if s.basis == "inrush" and s.index in brief)


def running_power(demand: LoadDemand) -> complex:
    """Return the complex power of a whole row while it runs.

    Equation: S = q f (P + j sqrt(S1^2 - P^2)) with quantity q and demand factor f.

    Parameters
    ----------
    demand : LoadDemand
        One row [-]

    Returns
    -------
    complex
        kW + j kvar of all pieces [kVA]

    Raises
    ------
    AttributeError
        ``demand`` is no load.

    Notes
    -----
    kW and kVA stand each on their own source, so the kvar that follow may be high: conservative.

    Source: definition of complex power.
    """
    kvar = math.sqrt(max(demand.running_kva**2 - demand.running_kw**2, 0.0))
    return demand.quantity * demand.demand_factor * complex(demand.running_kw, kvar)


def starting_power(start: StartDemand) -> complex:
    """Return the complex power of a whole row at its start, all pieces together.

    Equation: S = q (P + j sqrt(S1^2 - P^2)) with quantity q.

    Parameters
    ----------
    start : StartDemand
        One row [-]

    Returns
    -------
    complex
        kW + j kvar of all pieces [kVA]

    Raises
    ------
    AttributeError
        ``start`` is no starting demand.

    Notes
    -----
    No demand factor: that some pieces rest most of the day does not keep them from starting.

    Source: definition of complex power.
    """
    kvar = math.sqrt(max(start.start_kva**2 - start.start_kw**2, 0.0))
    return start.quantity * complex(start.start_kw, kvar)


def balanced_pieces(pieces: int, connection: str, system: str) -> int:
    """Return how many pieces a balanced start would have that loads the worst phase alike.

    Parameters
    ----------
    pieces : int
        Equal single-phase pieces that start at once, spread over the phases, 1 to 500 [-]
    connection : str
        ``line_line`` or ``line_neutral`` [-]
    system : str
        One of ``SUPPLIES`` [-]

    Returns
    -------
    int
        Pieces of the balanced start, at least ``pieces`` [-]

    Raises
    ------
    ZeroDivisionError
        Never; divisors are fixed.

    Notes
    -----
    Three equal pieces are balanced. On a three-phase set, a piece between two lines sees
    X1 + X2 where a balanced start sees X1, so with X2 = X1 it counts twice; two pieces on two
    pairs draw 3 times one piece's worth through their common line; a piece on a neutral sees
    (X1 + X2 + X0) / 3 at a third of the impedance base and counts three times. On the two legs
    of 120/240 a piece on one leg counts twice; on the high-leg delta its leg is half of one
    pair, which counts four times. Conservative: X2 and X0 are mostly below X'd.

    Source: symmetrical components, X2 = X0 = X'd assumed.

    Examples
    --------
    >>> [balanced_pieces(n, "line_neutral", "208Y/120") for n in (1, 3, 4)]
    [3, 3, 6]
    """
    if system == "120/240":
        return pieces if connection == "line_line" else 2 * -(-pieces // 2)
    if connection == "line_line":
        return 3 * (pieces // 3) + (0, 2, 3)[pieces % 3]
    return 4 * -(-pieces // 2) if system == "240/120" else 3 * -(-pieces // 3)


def balanced_start_kva(job: Job, starting: Mapping[int, int], vector_kva: float) -> float | None:
    """Return the balanced start that loads the worst phase as these rows do.

    Equation: S = S_vector min(sum(S_i n_i / q_i), sum(S_i) + 2 s_max) / sum(S_i), with n_i from
    `balanced_pieces` and s_max the largest single-phase piece.

    Parameters
    ----------
    job : Job
        The rows [-]
    starting : mapping of int to int
        Row index to the pieces that start [-]
    vector_kva : float
        Vector sum of the start [kVA]

    Returns
    -------
    float or None
        Apparent power of the balanced start [kVA]; ``None`` where all that starts is balanced

    Raises
    ------
    KeyError
        A row is not in the job.

    Notes
    -----
    The second bound is that of the greedy spread: no phase carries more than the mean and two
    thirds of the largest piece. It does not hold on the high-leg delta, whose 120 V pieces have
    but one pair of phases.

    Source: symmetrical components; list scheduling bound (Graham 1969, memory).
    """
    rows = {i: job.demands[i] for i in starting}
    if all(row.phases == 3 for row in rows.values()):
        return None
    piece = {i: abs(job.starting[i]) / row.quantity for i, row in rows.items()}
    plain = sum(piece[i] * n for i, n in starting.items())
    if not plain:
        return None
    counted = sum(piece[i] * _counted_pieces(rows[i], n) for i, n in starting.items())
    if all(row.supply != "240/120" for row in rows.values()):
        largest = max(piece[i] for i, row in rows.items() if row.phases != 3)
        counted = min(counted, plain + 2 * largest)
    return vector_kva * counted / plain


def _counted_pieces(row: LoadDemand, pieces: int) -> int:
    return pieces if row.phases == 3 else balanced_pieces(pieces, row.connection, row.supply)
