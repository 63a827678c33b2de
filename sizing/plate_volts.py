"""Volts and amperes of a plate: windings, printed ranges, and which ampere goes with which volt."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from sizing.quantity import read_number

RANGE_RATIO = 1.25  # 208-230 is one winding's range; 230/460 are two windings
TWO_WINDINGS = (1.9, 2.1)  # "230-460" is written with a dash and still means two windings
_SLASH = re.compile(r"\s*(?:/|\bor\b)\s*")
_DASH = re.compile(r"\s*(?:-|\bto\b)\s*")


@dataclass(frozen=True, slots=True)
class Group:
    """One winding as printed: one value, or the values of its range in printed order."""

    values: tuple[float, ...]


def groups(text: str) -> tuple[Group, ...]:
    """Windings of "208-230/460": a slash parts windings, a dash joins the ends of a range.

    Close neighbours parted by a slash are one range too ("208/230"), and a dash between values
    with the ratio of two windings parts them ("230-460").

    Raises
    ------
    QuantityRefused
        A part is not a number.
    """
    parted: list[Group] = []
    for part in _SLASH.split(text):
        parted.extend(_windings(tuple(read_number(end) for end in _DASH.split(part))))
    return _close_ones_joined(parted)


def _windings(ends: tuple[float, ...]) -> list[Group]:
    low, high = min(ends), max(ends)
    if len(ends) == 2 and low > 0 and TWO_WINDINGS[0] <= high / low <= TWO_WINDINGS[1]:
        return [Group((end,)) for end in ends]
    return [Group(ends)]


def _close_ones_joined(parted: Sequence[Group]) -> tuple[Group, ...]:
    joined: list[Group] = []
    for group in parted:
        if joined and _close(joined[-1], group):
            joined[-1] = Group((*joined[-1].values, *group.values))
        else:
            joined.append(group)
    return tuple(joined)


def _close(one: Group, other: Group) -> bool:
    values = (*one.values, *other.values)
    return min(values) > 0 and max(values) / min(values) <= RANGE_RATIO


def flat(found: Sequence[Group]) -> tuple[float, ...]:
    """All values in printed order."""
    return tuple(value for group in found for value in group.values)


def ranges_of(found: Sequence[Group]) -> tuple[tuple[float, float], ...]:
    """Lowest and highest value of each winding that is printed as a range."""
    return tuple((min(g.values), max(g.values)) for g in found if len(g.values) > 1)


def one_to_one(
    volts: Sequence[Group], amps: Sequence[Group]
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Volts and amperes one to one where the plate allows it, else each as printed.

    One ampere for a printed range holds at each of its ends.
    """
    if len(flat(volts)) == len(flat(amps)) or len(volts) != len(amps):
        return flat(volts), flat(amps)
    spread = [_over(v, a) for v, a in zip(volts, amps, strict=True)]
    return flat(volts), tuple(a for ends in spread for a in ends)


def _over(volts: Group, amps: Group) -> tuple[float, ...]:
    """Amperes for each printed volt of one winding; the largest where they cannot be matched."""
    if len(amps.values) == len(volts.values):
        return amps.values
    return (max(amps.values),) * len(volts.values)
