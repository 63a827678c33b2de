"""Chapter 8, underneath: placing single-phase pieces so that the worst line carries least."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from sizing.lines import Currents, Place, System

NOTHING: Currents = (0j, 0j, 0j)
EPSILON = 1e-9
MOST_PIECES_SEARCHED = 12
Reals = tuple[float, float, float]
Node = tuple[int, Currents, Reals, tuple[int, ...]]  # depth, lines, projections, places taken


@dataclass(frozen=True, slots=True)
class Piece:
    """One single-phase piece: its row, its current as a phasor against its voltage, its places."""

    index: int
    current: complex
    places: tuple[Place, ...]

    def at(self, place: int) -> Currents:
        """Line currents of the piece at one of its places [A]."""
        first, second, third = self.places[place].unit
        return self.current * first, self.current * second, self.current * third


class Placing(NamedTuple):
    """Places of the pieces in their order, what the lines then carry, and what no placing beats."""

    places: tuple[int, ...]
    lines: Currents
    lower_bound_amps: float
    proved: bool


def place_pieces(
    pieces: Sequence[Piece], system: System, base: Currents, nodes: int, swaps: int
) -> Placing:
    """Return where pieces go so that the worst line carries least.

    Equation: min over placings of max over lines of |I|.

    Parameters
    ----------
    pieces : sequence of Piece
        Single-phase pieces [A]
    system : System
        Lines and places [-]
    base : tuple of complex
        Line currents of what is placed already [A]
    nodes : int
        Most nodes of the exact search [-]
    swaps : int
        Most exchanges tried before it [-]

    Returns
    -------
    Placing
        Places in the order of ``pieces``; ``proved`` where no placing can be better [A]

    Raises
    ------
    IndexError
        A piece has no place.

    Notes
    -----
    Largest piece first to the place that leaves the worst line least, then moves and pairwise
    exchanges, then branch and bound. Bound: project every line current on the direction that the
    line's current would have in a balanced load at the power factor of the whole. Every piece adds
    a sum of projections that its place changes little (not at all on a wye), so the mean of the
    least sums is a floor for every placing; and a line's projection never falls by more than the
    negative parts of what is still to be placed, which bounds a partial placing. Equal pieces are
    placed in one direction only. For equal machines the greedy start alone is within 4/3 of the
    best (Graham).

    Source: branch and bound; R. L. Graham 1969 for the greedy start (memory).
    """
    ranked = sorted(range(len(pieces)), key=lambda n: (-abs(pieces[n].current), n))
    search = _Search([pieces[n] for n in ranked], system, base)
    search.greedy()
    search.exchange(swaps)
    proved = search.exact(nodes)
    places = dict(zip(ranked, search.best, strict=True))
    return Placing(
        tuple(places[n] for n in range(len(pieces))), search.lines(), search.floor, proved
    )


class _Search:
    """The pieces by falling current, their phasors at each place, and the best placing so far."""

    def __init__(self, pieces: Sequence[Piece], system: System, base: Currents) -> None:
        self.base = base
        self.options = [[piece.at(n) for n in range(len(piece.places))] for piece in pieces]
        self.equal = [
            n > 0 and pieces[n].current == pieces[n - 1].current
            and pieces[n].places is pieces[n - 1].places
            for n in range(len(pieces))
        ]  # fmt: skip
        self.towards = self._directions(system)
        self.count = len(system.lines)
        self.floor = self._floor()
        self.best: list[int] = []

    def _directions(self, system: System) -> Currents:
        """Direction of each line's current in a balanced load of the whole's power factor."""
        whole = self._sum(self.base, system)
        for option in self.options:
            whole += sum(self._sum(adding, system) for adding in option) / len(option)
        turn = whole / abs(whole) if whole else 1
        a, b, c = (turn * unit for unit in system.balanced)
        return a, b, c

    @staticmethod
    def _sum(lines: Currents, system: System) -> complex:
        return sum(
            (i * unit.conjugate() for i, unit in zip(lines, system.balanced, strict=True)), 0j
        )

    def _projected(self, lines: Currents) -> list[float]:
        pairs = zip(lines, self.towards, strict=True)
        return [i.real * u.real + i.imag * u.imag for i, u in pairs]

    def _floor(self) -> float:
        total = sum(self._projected(self.base))
        for option in self.options:
            total += min(sum(self._projected(adding)) for adding in option)
        return max(0.0, total / self.count)

    def lines(self) -> Currents:
        """Line currents of the best placing [A]."""
        found = self.base
        for option, place in zip(self.options, self.best, strict=True):
            found = plus(found, option[place])
        return found

    def greedy(self) -> None:
        """Largest piece first, to where the worst line stays least."""
        now = self.base
        for option in self.options:
            keys = [_key(plus(now, adding)) for adding in option]
            top, squares = min(keys)
            bar = top * (1 + EPSILON), squares * (1 + EPSILON)
            self.best.append(
                next(n for n, (t, q) in enumerate(keys) if t <= bar[0] and q <= bar[1])
            )
            now = plus(now, option[self.best[-1]])

    def exchange(self, tries: int) -> None:
        """Moves of one piece and exchanges of two, as long as they help and tries are left."""
        now = self.lines()
        while tries > 0 and _key(now)[0] > (self.floor * (1 + EPSILON)) ** 2:
            tries, better = self._improved(now, tries)
            if better is None:
                return
            now = better

    def _improved(self, now: Currents, tries: int) -> tuple[int, Currents | None]:
        """The first change that helps, made, and the tries left; ``None`` where none helps."""
        goal = _key(now)[0] * (1 - EPSILON)
        for change in self._changes():
            tries -= 1
            after = now
            for n, place in change:
                after = plus(minus(after, self.options[n][self.best[n]]), self.options[n][place])
            if _key(after)[0] < goal:
                for n, place in change:
                    self.best[n] = place
                return tries, after
            if tries <= 0:
                break
        return tries, None

    def _changes(self) -> Iterator[tuple[tuple[int, int], ...]]:
        """Every move of one piece, then every exchange of two, as (piece, new place) pairs."""
        best = self.best
        for n, option in enumerate(self.options):
            for place in range(len(option)):
                if place != best[n]:
                    yield ((n, place),)
        for n in range(len(best)):
            for m in range(n):
                if best[n] != best[m] and len(self.options[n]) == len(self.options[m]):
                    yield (n, best[m]), (m, best[n])

    def exact(self, nodes: int) -> bool:
        """Branch and bound from the best so far; whether every placing is accounted for."""
        top = max(abs(i) for i in self.lines())
        goal = self.floor * (1 + EPSILON)
        if top <= goal:
            return True
        if len(self.options) > MOST_PIECES_SEARCHED:
            return False
        projections = [[_three(self._projected(adding)) for adding in o] for o in self.options]
        slack, last = self._slack(projections), len(self.options)
        open_: list[Node] = [(0, self.base, _three(self._projected(self.base)), ())]
        while open_ and nodes > 0 and top > goal:
            nodes -= 1
            depth, now, (a, b, c), taken = open_.pop()
            if depth == last:
                top, self.best = _lower(top, self.best, now, taken)
                continue
            (p, q, r), bar = slack[depth + 1], top * (1 - EPSILON)
            for place in range(len(self.options[depth]) - 1, self._first(depth, taken) - 1, -1):
                x, y, z = projections[depth][place]
                x, y, z = a + x, b + y, c + z
                if x + p < bar and y + q < bar and z + r < bar:
                    after = plus(now, self.options[depth][place])
                    open_.append((depth + 1, after, (x, y, z), (*taken, place)))
        return not open_ or top <= goal

    def _first(self, depth: int, taken: tuple[int, ...]) -> int:
        """First place worth trying: an equal piece never goes before its twin."""
        return taken[-1] if self.equal[depth] else 0

    @staticmethod
    def _slack(projections: Sequence[Sequence[Reals]]) -> list[Reals]:
        """How far each line's projection can still fall from a depth on: 0 or below."""
        slack: list[Reals] = [(0.0, 0.0, 0.0)]
        for option in reversed(projections):
            a, b, c = (min(0.0, *column) for column in zip(*option, strict=True))
            p, q, r = slack[-1]
            slack.append((p + a, q + b, r + c))
        return slack[::-1]


def _three(values: Sequence[float]) -> Reals:
    first, second, third = values
    return first, second, third


def _lower(
    top: float, best: list[int], lines: Currents, taken: tuple[int, ...]
) -> tuple[float, list[int]]:
    """The lower of the best so far and a complete placing."""
    height = max(abs(i) for i in lines)
    return (height, list(taken)) if height < top * (1 - EPSILON) else (top, best)


def plus(one: Currents, other: Currents) -> Currents:
    """Line currents of both together [A]."""
    return one[0] + other[0], one[1] + other[1], one[2] + other[2]


def minus(one: Currents, other: Currents) -> Currents:
    """Line currents of one without the other [A]."""
    return one[0] - other[0], one[1] - other[1], one[2] - other[2]


def _key(lines: Currents) -> tuple[float, float]:
    """Worst line first, then the sum of squares, both squared amperes."""
    a, b, c = (i.real * i.real + i.imag * i.imag for i in lines)
    return max(a, b, c), a + b + c


def phasor(amps: float, power_factor: float) -> complex:
    """Current against its own voltage: ``amps`` lagging by arccos of the power factor [A]."""
    cosine = min(1.0, max(0.0, power_factor))
    return amps * complex(cosine, -((1 - cosine * cosine) ** 0.5))
