"""Chapter 12: what is not known is carried as a range; if the answer holds, go on, else ask."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sizing.combinations import Option
from sizing.demand import Demand
from sizing.finding import Finding, Severity
from sizing.fleet import GeneratorSet
from sizing.requirement import UNSURE, Band, Load, Requirement, known

LEVELS = ("low", "likely", "high")
MOTOR_KINDS = ("motor", "pump", "compressor", "hvac")


@dataclass(frozen=True, slots=True)
class Answer:
    """What the method says of one resolved requirement."""

    requirement: Requirement
    demands: tuple[Demand, ...]
    options: tuple[Option, ...]
    findings: tuple[Finding, ...]

    @property
    def mark(self) -> tuple[Any, ...]:
        """Set, supply and accessories of the recommendation: what must not depend on a doubt."""
        if not self.options:
            return ()
        return tuple(
            (part.set_.code, part.quantity, part.evaluation.supply,
             *((one.code, one.quantity) for one in part.accessories))
            for part in self.options[0].parts
        )  # fmt: skip


Size = Callable[[Requirement], Answer]


@dataclass(frozen=True, slots=True)
class Unknown:
    """One thing not settled: where it stands, what to ask, and the values it may take.

    ``values`` holds the easiest, the likely and the hardest for a set, in that order.
    """

    code: str
    subject: str
    question: str
    values: tuple[Any, Any, Any]
    assumed: str
    unit: str
    put: Callable[[Requirement, Any], Requirement]

    def at(self, requirement: Requirement, level: str) -> Requirement:
        """Requirement with this unknown settled at a level."""
        return self.put(requirement, self.values[LEVELS.index(level)])


@dataclass(frozen=True, slots=True)
class Weight:
    """How much one unknown changes alone, and how much of the doubt its answer removes."""

    unknown: Unknown
    change: int
    removed_percent: float
    low: Answer
    high: Answer


BAND_QUESTIONS = {
    "altitude_m": ("altitude_unsure", "site.altitude", "At what altitude does the set stand?", "m"),
    "ambient_c": ("ambient_unsure", "site.ambient", "How hot does it get at the site?", "degC"),
    "hours_per_day": ("hours_unsure", "site.hours_per_day", "How many hours a day must it run?", "h"),
    "refuel_every_h": ("refuel_unsure", "site.refuel_every",
                       "How often can the tank be refilled?", "h"),
    "lead_length_m": ("lead_length_unsure", "site.lead_length",
                      "How far is it from the set to the load?", "m"),
}  # fmt: skip


def unknowns(requirement: Requirement) -> tuple[Unknown, ...]:
    """Return everything of a requirement that is not settled and may bear on the set.

    Parameters
    ----------
    requirement : Requirement
        As read [-]

    Returns
    -------
    tuple of Unknown
        Bands of the site, then starting methods and float switches of the loads [-]

    Raises
    ------
    AttributeError
        A band has no field in the site.
    """
    return (
        *(
            _band_unknown(name, band)
            for name in BAND_QUESTIONS
            if not (band := getattr(requirement.site, name)).known
        ),
        *(u for index, load in enumerate(requirement.loads) for u in _load_unknowns(index, load)),
    )


def settled(requirement: Requirement, open_: Sequence[Unknown], level: str) -> Requirement:
    """Return the requirement with every unknown at one level.

    Parameters
    ----------
    requirement : Requirement
        As read [-]
    open_ : sequence of Unknown
        What is not settled [-]
    level : str
        ``low``, ``likely`` or ``high``: easiest to hardest for a set [-]

    Returns
    -------
    Requirement
        Without a band of any width [-]

    Raises
    ------
    ValueError
        ``level`` is none of the three.
    """
    for unknown in open_:
        requirement = unknown.at(requirement, level)
    return requirement


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
        Where low, likely and high agree: the likely answer and a note for each assumption.
        Where not: the answer at the hard end, and one question that needs a person [-]

    Raises
    ------
    DocumentRefused
        Passed on from ``size``.
    """
    open_ = unknowns(requirement)
    low, likely, high = (size(settled(requirement, open_, level)) for level in LEVELS)
    if low.mark == likely.mark == high.mark:
        return likely, [_assumption(unknown) for unknown in open_] + _only_hard(likely, high)
    weights = rank(requirement, open_, fleet, size)
    return high, [_question(weight, place) for place, weight in enumerate(weights, 1)]


def rank(
    requirement: Requirement, open_: Sequence[Unknown], fleet: Sequence[GeneratorSet], size: Size
) -> list[Weight]:
    """Return the unknowns by how much they change, the most telling first.

    Equation: removed = 1 - d(low without u, high without u) / d(low, high).

    Parameters
    ----------
    requirement : Requirement
        As read [-]
    open_ : sequence of Unknown
        What is not settled [-]
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
    DocumentRefused
        Passed on from ``size``.
    """
    ends = tuple(settled(requirement, open_, level) for level in ("low", "high"))
    doubt = distance(*(size(end) for end in ends), fleet)
    middle = settled(requirement, open_, "likely")
    weights = [_weight(unknown, ends, middle, doubt, fleet, size) for unknown in open_]
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
        0 where set, supply and accessories are the same [steps]

    Raises
    ------
    AttributeError
        An item is no answer.
    """
    if one.mark == other.mark:
        return 0
    ratings = sorted({set_.prime_kw for set_ in fleet})
    steps = abs(_place(one, ratings) - _place(other, ratings))
    mine, theirs = _articles(one), _articles(other)
    supplies = {part[2] for part in one.mark} != {part[2] for part in other.mark}
    return max(1, steps + len(mine ^ theirs) + int(supplies))


def _place(answer: Answer, ratings: Sequence[float]) -> int:
    """Place of the recommended power among the ratings; past the end where nothing fits."""
    if not answer.options:
        return len(ratings)
    return sum(1 for rating in ratings if rating < answer.options[0].rated_kw)


def _articles(answer: Answer) -> set[tuple[str, int]]:
    parts = answer.options[0].parts if answer.options else ()
    return {(one.code, one.quantity) for part in parts for one in part.accessories}


def _weight(
    unknown: Unknown,
    ends: Sequence[Requirement],
    middle: Requirement,
    doubt: int,
    fleet: Sequence[GeneratorSet],
    size: Size,
) -> Weight:
    """Change by one unknown alone, and the doubt left once it is settled."""
    low, high = (size(unknown.at(middle, level)) for level in ("low", "high"))
    without = (size(unknown.at(end, "likely")) for end in ends)
    left = distance(*without, fleet)
    removed = max(0.0, 100 * (1 - left / doubt)) if doubt else 0.0
    return Weight(unknown, distance(low, high, fleet), removed, low, high)


def _band_unknown(name: str, band: Band) -> Unknown:
    code, subject, question, unit = BAND_QUESTIONS[name]

    def put(requirement: Requirement, value: float) -> Requirement:
        return replace(requirement, site=replace(requirement.site, **{name: known(value)}))

    return Unknown(
        code, subject, question, (band.low, band.likely, band.high), band.assumed, unit, put
    )


def _load_unknowns(index: int, load: Load) -> list[Unknown]:
    """Starting method of a motor and float switch of a pump, where they were not said."""
    found = []
    if load.starting == UNSURE and load.kind in MOTOR_KINDS:
        found.append(
            Unknown(
                "start_assumed", f"loads[{index}].starting", f"How is {load.name} started?",
                ("soft_starter", "across_the_line", "across_the_line"),
                "across the line is the hardest start", "", _load_put(index, "starting"),
            )
        )  # fmt: skip
    if load.float_switch is None and load.kind == "pump":
        found.append(
            Unknown(
                "float_switch_unsure", f"loads[{index}].float_switch",
                f"Does a float switch start {load.name}?", (False, False, True),
                "without a float switch the pump is started by hand", "",
                _load_put(index, "float_switch"),
            )
        )  # fmt: skip
    return found


def _load_put(index: int, name: str) -> Callable[[Requirement, Any], Requirement]:
    def put(requirement: Requirement, value: Any) -> Requirement:
        loads = list(requirement.loads)
        loads[index] = replace(loads[index], **{name: value})
        return replace(requirement, loads=tuple(loads))

    return put


def _assumption(unknown: Unknown) -> Finding:
    """A note: the doubt does not change the answer."""
    low, likely, high = (_say(value, unknown.unit) for value in unknown.values)
    because = f" ({unknown.assumed})" if unknown.assumed else ""
    detail = f"Taken as {likely}{because}; from {low} to {high} the answer is the same."
    return Finding(
        unknown.code, Severity.NOTE, unknown.subject, detail, unknown.question, _ends(unknown)
    )


def _question(weight: Weight, place: int) -> Finding:
    """The first unknown needs a person; the others stand behind it as notes with their rank."""
    unknown = weight.unknown
    severity = Severity.NEEDS_PERSON if place == 1 else Severity.NOTE
    low, _, high = (_say(value, unknown.unit) for value in unknown.values)
    detail = (
        f"From {low} to {high} the answer is {_name(weight.low)} to {_name(weight.high)}; "
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
    return Finding(unknown.code, severity, unknown.subject, detail, unknown.question, evidence)


def _ends(unknown: Unknown) -> dict[str, Any]:
    suffix = f"_{unknown.unit.lower()}" if unknown.unit else ""
    return {f"{level}{suffix}": v for level, v in zip(LEVELS, unknown.values, strict=True)}


def _say(value: Any, unit: str) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value.replace("_", " ")
    return f"{value:g} {unit}"


def _name(answer: Answer) -> str:
    """Sets and accessories of an answer in a few words."""
    if not answer.options:
        return "no set"
    parts = answer.options[0].parts
    sets = " and ".join(f"{part.quantity} x {part.set_.code}" for part in parts)
    extra = [one.code.replace("_", " ") for part in parts for one in part.accessories]
    return f"{sets} with {', '.join(extra)}" if extra else sets


def _only_hard(likely: Answer, high: Answer) -> list[Finding]:
    """Doubts that need a person at the hard end and are not seen at the likely one."""
    seen = {(finding.code, finding.subject) for finding in likely.findings}
    return [
        finding
        for finding in high.findings
        if finding.severity is Severity.NEEDS_PERSON and (finding.code, finding.subject) not in seen
    ]
