"""Chapter 12: what a requirement leaves open, the values it may take, and what to ask."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from sizing.conversions import FOOT_M
from sizing.requirement import Band, Load, Requirement, known

LEVELS = ("low", "likely", "high")
MOTOR_KINDS = ("motor", "pump", "compressor", "hvac")
AUTOMATIC_KINDS = ("compressor", "hvac")  # a pressure switch or a thermostat starts them
METHODS = ("soft_starter", "across_the_line", "across_the_line")
OTHER_METHODS = ("wye_delta", "vfd")
Point = tuple[Any, ...]
Put = Callable[[Requirement, Any], Requirement]


class Unknown(NamedTuple):
    """One thing not settled: where it stands, what to ask, and the values it may take.

    ``values`` holds the easiest, the likely and the hardest for a set, in that order; ``others``
    what lies outside that order and must be tried one by one.
    """

    code: str
    subject: str
    question: str
    values: tuple[Any, Any, Any]
    assumed: str
    unit: str
    put: Put
    others: tuple[Any, ...] = ()

    @property
    def monotone(self) -> bool:
        """Whether the ends of the range tell all: nothing lies outside the order."""
        return not self.others


BAND_QUESTIONS = {
    "altitude_m": ("altitude_unsure", "site.altitude", "At what altitude does the set stand?"),
    "ambient_c": ("ambient_unsure", "site.ambient", "How hot does it get at the site?"),
    "hours_per_day": (
        "hours_unsure",
        "site.hours_per_day",
        "How many hours a day must it run?",
    ),
    "refuel_every_h": (
        "refuel_unsure",
        "site.refuel_every",
        "How often can the tank be refilled?",
    ),
    "lead_length_m": (
        "lead_length_unsure",
        "site.lead_length",
        "How far is it from the set to the load?",
    ),
}


def unknowns(requirement: Requirement) -> tuple[Unknown, ...]:
    """Return everything of a requirement that is not settled and may bear on the set.

    Parameters
    ----------
    requirement : Requirement
        As read [-]

    Returns
    -------
    tuple of Unknown
        Bands of the site, then what the loads leave open, in the order of the requirement [-]

    Raises
    ------
    AttributeError
        A band has no field in the site.

    Notes
    -----
    A motor of unknown starting method may be on a soft starter (easiest) or across the line
    (hardest); a drive is tried as well, because it asks little at the start but is non-linear.
    """
    site = requirement.site
    bands = ((name, getattr(site, name)) for name in BAND_QUESTIONS)
    found = [_band_unknown(name, band) for name, band in bands if not band.known]
    for index, load in enumerate(requirement.loads):
        found += _load_unknowns(index, load, requirement.application)
    return tuple(found)


def settled(requirement: Requirement, open_: Sequence[Unknown], point: Point) -> Requirement:
    """Return the requirement with every unknown at its value of a point.

    Parameters
    ----------
    requirement : Requirement
        As read [-]
    open_ : sequence of Unknown
        What is not settled [-]
    point : tuple, shape (n,)
        One value for each unknown, in its unit [-]

    Returns
    -------
    Requirement
        Without a band of any width [-]

    Raises
    ------
    ValueError
        The point has more or fewer values than there are unknowns.
    """
    for unknown, value in zip(open_, point, strict=True):
        requirement = unknown.put(requirement, value)
    return requirement


def corner(open_: Sequence[Unknown], level: str) -> Point:
    """Return the point with every unknown at one level.

    Parameters
    ----------
    open_ : sequence of Unknown
        What is not settled [-]
    level : str
        ``low``, ``likely`` or ``high``: easiest to hardest for a set [-]

    Returns
    -------
    tuple, shape (n,)
        One value for each unknown, in its unit [-]

    Raises
    ------
    ValueError
        ``level`` is none of the three.
    """
    place = LEVELS.index(level)
    return tuple(unknown.values[place] for unknown in open_)


def samples(open_: Sequence[Unknown], most: int) -> list[Point]:
    """Return points off the corners, for unknowns whose ends do not tell all.

    Parameters
    ----------
    open_ : sequence of Unknown
        What is not settled [-]
    most : int
        Points at most [-]

    Returns
    -------
    list of tuple, shape (n,)
        Each unknown that is not monotone takes each of its other values once with all else at
        the hard end; then rows of a lattice over all such values [-]

    Raises
    ------
    AttributeError
        An item is no unknown.

    Notes
    -----
    Sampling proves nothing between the points; it is used only where no order exists.
    """
    hard = corner(open_, "high")
    places = [place for place, unknown in enumerate(open_) if not unknown.monotone]
    single = [
        (*hard[:place], value, *hard[place + 1 :])
        for place in places
        for value in open_[place].others
    ]
    rows = range(most if len(places) > 1 else 0)
    lattice = [_lattice_row(open_, hard, places, row) for row in rows]
    return list(dict.fromkeys((*single, *lattice)))[:most]


def say(value: Any, unit: str) -> str:
    """Return a value as a customer reads it, US customary first.

    Parameters
    ----------
    value : float, bool or str
        A value of an unknown [unit]
    unit : str
        ``m``, ``degC``, ``h`` or empty [-]

    Returns
    -------
    str
        With its unit [-]

    Raises
    ------
    TypeError
        A value with a unit is no number.
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if unit == "m":
        return f"{value / FOOT_M:,.0f} ft ({value:,.0f} m)"
    if unit == "degC":
        return f"{value * 9 / 5 + 32:.0f} degF ({value:.0f} degC)"
    return f"{value:g} {unit}" if unit else str(value).replace("_", " ")


def _lattice_row(open_: Sequence[Unknown], hard: Point, places: Sequence[int], row: int) -> Point:
    """One row of a lattice: each open place steps through its values at a pace of its own."""
    point = list(hard)
    for pace, place in enumerate(places, 1):
        choices = list(dict.fromkeys((*open_[place].values, *open_[place].others)))
        point[place] = choices[(row * pace + row // len(choices)) % len(choices)]
    return tuple(point)


def _band_unknown(name: str, band: Band) -> Unknown:
    code, subject, question = BAND_QUESTIONS[name]
    unit = {"m": "m", "c": "degC"}.get(name.rpartition("_")[2], "h")

    def put(requirement: Requirement, value: float) -> Requirement:
        fields: dict[str, Any] = {name: known(value)}
        return replace(requirement, site=replace(requirement.site, **fields))

    values = (band.low, band.likely, band.high)
    return Unknown(code, subject, question, values, band.assumed, unit, put)


def _load_unknowns(index: int, load: Load, application: str) -> list[Unknown]:
    """What a load leaves open: starting method, float switch, coming back by itself."""
    found = []
    if load.starting == "unsure" and load.kind in MOTOR_KINDS:
        found.append(_starting_unknown(index, load))
    if load.float_switch is None and load.kind == "pump":
        likely = application == "dewatering"
        question = f"Does a float switch start {load.name}?"
        found.append(_flag_unknown(index, "float_switch", question, likely))
    if load.restarts_itself is None and load.kind in AUTOMATIC_KINDS:
        question = f"Does {load.name} come back by itself when the power returns?"
        found.append(_flag_unknown(index, "restarts_itself", question, True))
    return found


def _starting_unknown(index: int, load: Load) -> Unknown:
    return Unknown(
        "start_assumed",
        f"loads[{index}].starting",
        f"How is {load.name} started?",
        METHODS,
        "across the line asks most of a set at the start",
        "",
        _load_put(index, "starting"),
        OTHER_METHODS,
    )


def _flag_unknown(index: int, name: str, question: str, likely: bool) -> Unknown:
    usual = "usual for this equipment" if likely else "not usual for this equipment"
    put = _load_put(index, name)
    values = (False, likely, True)
    return Unknown(f"{name}_unsure", f"loads[{index}].{name}", question, values, usual, "", put)


def _load_put(index: int, name: str) -> Put:
    def put(requirement: Requirement, value: Any) -> Requirement:
        fields: dict[str, Any] = {name: value}
        loads = list(requirement.loads)
        loads[index] = replace(loads[index], **fields)
        return replace(requirement, loads=tuple(loads))

    return put
