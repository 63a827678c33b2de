"""Chapter 4, underneath: which rows may run at once, and which wait for another to start."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from collections.abc import Sequence as Ordered

from sizing.errors import SizingError
from sizing.plate import LoadDemand

Graph = Mapping[int, frozenset[int]]
Weight = Callable[[int], float]
MOST_BRANCHES = 2000


class SequenceRefused(SizingError):
    """Loads wait for each other in a circle; says which."""

    code = "sequence_refused"

    def __init__(self, names: list[str]) -> None:
        super().__init__(
            f"{' waits for '.join([*names, names[0]])}: a circle. "
            "Take one of these 'starts after' answers out."
        )
        self.names = names


def exclusions(demands: Ordered[LoadDemand]) -> Graph:
    """Return for each row that has any the rows that never run with it, both ways.

    Parameters
    ----------
    demands : sequence of LoadDemand
        All rows; a name that no row bears is passed over: that load is not on this supply [-]

    Returns
    -------
    mapping of int to frozenset of int
        Row index to row indices [-]

    Raises
    ------
    AttributeError
        An element is no load.

    Notes
    -----
    Rows of equal name are all meant.
    """
    named = _by_name(demands)
    apart: dict[int, set[int]] = defaultdict(set)
    for demand in demands:
        for other in named.get(demand.never_with or "", ()):
            if other != demand.index:
                apart[demand.index].add(other)
                apart[other].add(demand.index)
    return {index: frozenset(others) for index, others in apart.items()}


def followers(demands: Ordered[LoadDemand]) -> Graph:
    """Return for each row that has any the rows that start after it, at any remove.

    Parameters
    ----------
    demands : sequence of LoadDemand
        All rows; a name that no row bears is passed over: that load is not on this supply [-]

    Returns
    -------
    mapping of int to frozenset of int
        Row index to the indices of its followers [-]

    Raises
    ------
    SequenceRefused
        Rows wait for each other in a circle.
    """
    named = _by_name(demands)
    after: dict[int, set[int]] = defaultdict(set)
    for demand in demands:
        for leader in named.get(demand.starts_after or "", ()):
            after[leader].add(demand.index)
    names = {demand.index: demand.name for demand in demands}
    found: dict[int, frozenset[int]] = {}
    for index in list(after):
        _close(index, after, found, names)
    return {index: others for index, others in found.items() if others}


def _by_name(demands: Iterable[LoadDemand]) -> dict[str, list[int]]:
    named: dict[str, list[int]] = defaultdict(list)
    for demand in demands:
        named[demand.name].append(demand.index)
    return named


def _close(
    root: int, after: dict[int, set[int]], found: dict[int, frozenset[int]], names: dict[int, str]
) -> None:
    """All followers of ``root``, depth first without recursion; a circle is refused."""
    path: list[int] = []
    open_ = [root]
    while open_:
        index = open_[-1]
        if index in found:
            open_.pop()
            continue
        waiting = [i for i in after.get(index, ()) if i not in found]
        if path and path[-1] == index:
            path.pop()
            open_.pop()
            below = after.get(index, set())
            found[index] = frozenset(below).union(*(found[i] for i in below))
            continue
        path.append(index)
        circle = next((i for i in waiting if i in path), None)
        if circle is not None:
            raise SequenceRefused([names[i] for i in reversed(path[path.index(circle) :])])
        open_ += waiting


def groups_apart(apart: Graph) -> list[frozenset[int]]:
    """Return the connected groups of rows among which some never run together.

    Parameters
    ----------
    apart : mapping of int to frozenset of int
        As `exclusions` gives it [-]

    Returns
    -------
    list of frozenset of int
        Groups by lowest row index [-]

    Raises
    ------
    KeyError
        The mapping names a row one way only.
    """
    groups, seen = [], set()
    for first in sorted(apart):
        if first in seen:
            continue
        group, open_ = set(), [first]
        while open_:
            index = open_.pop()
            if index not in group:
                group.add(index)
                open_ += apart[index]
        seen |= group
        groups.append(frozenset(group))
    return groups


def heaviest(rows: Iterable[int], apart: Graph, weight: Weight) -> frozenset[int]:
    """Return the rows that may run at once and weigh most: the worst choice.

    Parameters
    ----------
    rows : iterable of int
        Rows to choose from [-]
    apart : mapping of int to frozenset of int
        As `exclusions` gives it [-]
    weight : callable
        Weight of a row, not negative [any]

    Returns
    -------
    frozenset of int
        A heaviest set of rows of which no two exclude each other; in a group whose exclusions
        are too tangled to be worked out all rows, which is heavier still [-]

    Raises
    ------
    TypeError
        A weight is no number.

    Notes
    -----
    Maximum-weight independent set, group by group. In a group the row with most exclusions is
    either out, or in and all that it excludes out; the heavier branch counts. Every independent
    set lies in one of the two branches, so the result is exact. After 2,000 branches of one
    group its exclusions are dropped, which is conservative.

    Examples
    --------
    >>> pumps = {0: frozenset({1}), 1: frozenset({0})}
    >>> sorted(heaviest([0, 1, 2], pumps, lambda i: [7.5, 11.0, 3.0][i]))
    [1, 2]
    """
    everyone = frozenset(rows)
    ties = {i: tied for i in everyone if (tied := apart.get(i, frozenset()) & everyone)}
    chosen = everyone - ties.keys()
    for group in groups_apart(ties):
        chosen |= _heaviest_of_group(group, ties, weight)
    return chosen


def _heaviest_of_group(group: frozenset[int], apart: Graph, weight: Weight) -> frozenset[int]:
    branches = 0

    def search(left: frozenset[int]) -> tuple[float, frozenset[int]]:
        nonlocal branches
        branches += 1
        tied = [i for i in left if apart[i] & left]
        if not tied or branches > MOST_BRANCHES:
            return sum(weight(i) for i in left), left
        pivot = max(tied, key=lambda i: (len(apart[i] & left), -i))
        out, in_ = search(left - {pivot}), search(left - {pivot} - apart[pivot])
        with_pivot = (in_[0] + weight(pivot), in_[1] | {pivot})
        return max(out, with_pivot, key=lambda found: found[0])

    found = search(group)[1]
    return found if branches <= MOST_BRANCHES else group
