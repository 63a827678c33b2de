"""Chapter 12: what is not known is carried as a range; if the answer holds, go on, else ask."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from sizing.combinations import Option, Part
from sizing.demand import Demand
from sizing.finding import Finding, Severity
from sizing.fleet import GeneratorSet
from sizing.limits import limit
from sizing.requirement import Requirement
from sizing.unknowns import LEVELS, Point, Unknown, corner, samples, say, settled, unknowns


@dataclass(frozen=True, slots=True)
class Answer:
    """What the method says of one resolved requirement."""

    requirement: Requirement
    demands: tuple[Demand, ...]
    options: tuple[Option, ...]
    findings: tuple[Finding, ...]

    @property
    def mark(self) -> tuple[tuple[Any, ...], ...]:
        """Kind, supply, sets and accessories recommended: what a doubt must not change."""
        if not self.options:
            return ()
        first = self.options[0]
        return tuple(
            (part.evaluation.supply, first.kind, part.set_.code, part.quantity, *_articles(part))
            for part in first.parts
        )


Size = Callable[[Requirement], Answer]


class Weight(NamedTuple):
    """How much one unknown changes alone, and how much of the doubt its answer removes."""

    unknown: Unknown
    change: int
    removed_percent: float
    low: Answer
    high: Answer


def explore(
    requirement: Requirement, fleet: Sequence[GeneratorSet], size: Size
) -> tuple[Answer, list[Finding]]:
    """Return the answer that no value within the ranges refuses, and what must be asked.

    Parameters
    ----------
    requirement : Requirement
        As read, bands and all [-]
    fleet : sequence of GeneratorSet
        Gives the steps by which a change of set is counted [-]
    size : callable
        Sizes a resolved requirement [-]

    Returns
    -------
    tuple of Answer and list of Finding
        Where all points agree: the likely answer and a note for each assumption. Where not: the
        answer with the largest set, and one question that needs a person [-]

    Raises
    ------
    TableRefused
        Passed on from ``size``.

    Notes
    -----
    Every band of the site acts one way (higher, hotter, longer never asks less), so its corners
    tell all; what has no such order is sampled.
    """
    open_ = unknowns(requirement)
    if not open_:
        return size(requirement), []
    corners = [corner(open_, level) for level in LEVELS]
    points = dict.fromkeys((*corners, *samples(open_, int(limit("samples").value))))
    answers = {point: size(settled(requirement, open_, point)) for point in points}
    likely = answers[corners[1]]
    if len({answer.mark for answer in answers.values()}) == 1:
        notes = [_assumption(unknown) for unknown in open_]
        return likely, notes + _unseen(likely, answers)
    hard = max(answers, key=lambda point: (_place(answers[point], fleet), point == corners[2]))
    easy = max(answers, key=lambda point: distance(answers[point], answers[hard], fleet))
    weights = rank(requirement, open_, (easy, hard), fleet, size)
    asked = [_question(weight, place) for place, weight in enumerate(weights, 1)]
    return answers[hard], asked + _unseen(answers[hard], answers)


def rank(
    requirement: Requirement,
    open_: Sequence[Unknown],
    ends: tuple[Point, Point],
    fleet: Sequence[GeneratorSet],
    size: Size,
) -> list[Weight]:
    """Return the unknowns by how much they change, the most telling first.

    Equation: removed = 1 - mean over v of d(easy end with u = v, hard end with u = v) / d(ends),
    v being what the unknown u is at the easy end, likely, and at the hard end.

    Parameters
    ----------
    requirement : Requirement
        As read [-]
    open_ : sequence of Unknown
        What is not settled [-]
    ends : tuple of two points
        The easy end and the hard end [-]
    fleet : sequence of GeneratorSet
        Gives the steps by which a change of set is counted [-]
    size : callable
        Sizes a resolved requirement [-]

    Returns
    -------
    list of Weight
        By doubt removed, then by change alone, then in the order of the requirement [-]

    Raises
    ------
    TableRefused
        Passed on from ``size``.

    Examples
    --------
    Of two unknowns that each move the set by one size and together by two, each removes half.
    """
    known: dict[Point, Answer] = {}

    def at(point: Point, place: int, value: Any) -> Answer:
        moved = (*point[:place], value, *point[place + 1 :])
        if moved not in known:
            known[moved] = size(settled(requirement, open_, moved))
        return known[moved]

    weights = [
        _weight(unknown, place, at, ends, open_, fleet) for place, unknown in enumerate(open_)
    ]
    return sorted(weights, key=lambda weight: (-weight.removed_percent, -weight.change))


def distance(one: Answer, other: Answer, fleet: Sequence[GeneratorSet]) -> int:
    """Return how far two answers lie apart [steps].

    Equation: steps of the fleet between the sets + accessories that differ + 1 if supplies differ.

    Parameters
    ----------
    one, other : Answer
        Two answers [-]
    fleet : sequence of GeneratorSet
        Sets whose ratings make the steps [-]

    Returns
    -------
    int
        0 where sets, supplies and accessories are the same, else 1 or more [steps]

    Raises
    ------
    AttributeError
        An item is no answer.
    """
    if one.mark == other.mark:
        return 0
    steps = abs(_place(one, fleet) - _place(other, fleet))
    mine, theirs = (
        {article for part in answer.options[0].parts for article in _articles(part)}
        if answer.options
        else set()
        for answer in (one, other)
    )
    supplies = {part[0] for part in one.mark} != {part[0] for part in other.mark}
    return max(1, steps + len(mine ^ theirs) + int(supplies))


def _articles(part: Part) -> list[tuple[str, int]]:
    return sorted((one.code, one.quantity) for one in part.accessories)


def _place(answer: Answer, fleet: Sequence[GeneratorSet]) -> int:
    """Place of the recommended power among the ratings; past the end where nothing fits."""
    ratings = {set_.prime_kw for set_ in fleet}
    if not answer.options:
        return len(ratings) + 1
    return sum(1 for rating in ratings if rating < answer.options[0].rated_kw)


def _weight(
    unknown: Unknown,
    place: int,
    at: Callable[[Point, int, Any], Answer],
    ends: tuple[Point, Point],
    open_: Sequence[Unknown],
    fleet: Sequence[GeneratorSet],
) -> Weight:
    """Change by one unknown alone, and the doubt left once it is settled."""
    easy, hard = ends
    values = tuple(dict.fromkeys((easy[place], unknown.values[1], hard[place])))
    doubt = distance(at(easy, place, easy[place]), at(hard, place, hard[place]), fleet)
    left = [distance(at(easy, place, value), at(hard, place, value), fleet) for value in values]
    removed = max(0.0, 100 * (1 - sum(left) / len(left) / doubt))
    middle = corner(open_, "likely")
    low, high = (at(middle, place, value) for value in (easy[place], hard[place]))
    return Weight(unknown, distance(low, high, fleet), removed, low, high)


def _assumption(unknown: Unknown) -> Finding:
    """A note: the doubt does not change the answer."""
    low, likely, high = (say(value, unknown.unit) for value in unknown.values)
    because = f" ({unknown.assumed})" if unknown.assumed else ""
    detail = f"Taken as {likely}{because}; from {low} to {high} the answer is the same."
    evidence = _ends(unknown)
    return Finding(unknown.code, Severity.NOTE, unknown.subject, detail, unknown.question, evidence)


def _question(weight: Weight, place: int) -> Finding:
    """The first unknown needs a person; the others stand behind it as notes with their rank."""
    unknown = weight.unknown
    low, _, high = (say(value, unknown.unit) for value in unknown.values)
    detail = (
        f"From {low} to {high} the answer goes from {_name(weight.low)} to {_name(weight.high)}; "
        f"knowing it removes {weight.removed_percent:.0f} % of the doubt."
    )
    if weight.low.mark == weight.high.mark:
        detail = (
            f"From {low} to {high} the answer does not change by this alone; "
            f"knowing it removes {weight.removed_percent:.0f} % of the doubt."
        )
    evidence = {
        **_ends(unknown),
        "rank": place,
        "changes_steps": weight.change,
        "doubt_removed_percent": weight.removed_percent,
        "sets_if_low": _name(weight.low),
        "sets_if_high": _name(weight.high),
    }
    severity = Severity.NEEDS_PERSON if place == 1 else Severity.NOTE
    return Finding(unknown.code, severity, unknown.subject, detail, unknown.question, evidence)


def _ends(unknown: Unknown) -> dict[str, Any]:
    suffix = f"_{unknown.unit.lower()}" if unknown.unit else ""
    return {f"{level}{suffix}": v for level, v in zip(LEVELS, unknown.values, strict=True)}


def _name(answer: Answer) -> str:
    """Sets and accessories of an answer in a few words."""
    if not answer.options:
        return "no set"
    parts = answer.options[0].parts
    sets = " and ".join(f"{part.quantity} x {part.set_.code}" for part in parts)
    extra = [one.code.replace("_", " ") for part in parts for one in part.accessories]
    return f"{sets} with {', '.join(extra)}" if extra else sets


def _unseen(given: Answer, answers: Mapping[Point, Answer]) -> list[Finding]:
    """Doubts that need a person somewhere in the range and are not seen in the answer given."""
    seen = {(finding.code, finding.subject) for finding in given.findings}
    return [
        finding
        for answer in answers.values()
        for finding in answer.findings
        if finding.severity is Severity.NEEDS_PERSON
        and finding.code != "no_set_fits"
        and (finding.code, finding.subject) not in seen
    ]
