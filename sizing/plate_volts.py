"""Volts and amperes of a plate: windings, printed ranges, and which ampere goes with which volt."""

from __future__ import annotations

import re
from dataclasses import dataclass

from sizing.quantity import read_number

RANGE_RATIO = 1.25  # 208-230 is one winding's range; 230/460 are two windings
_SLASH = re.compile(r"\s*(?:/|\bor\b)\s*")
_DASH = re.compile(r"\s*(?:-|\bto\b)\s*")


@dataclass(frozen=True, slots=True)
class Group:
    """One winding as printed: one value, or the ends of its range in printed order."""

    values: tuple[float, ...]


def groups(text: str) -> tuple[Group, ...]:
    """Windings of "208-230/460": a slash parts windings, a dash joins the ends of a range.

    Close neighbours parted by a slash are one range too ("208/230"), and a dash between values
    with the ratio of two windings parts them ("230-460").
    """
    parted: list[Group] = []
    for part in _SLASH.split(text):
        ends = tuple(read_number(end) for end in _DASH.split(part))
        parted.extend(_windings(ends))
    return _close_ones_joined(parted)


def _windings(ends: tuple[float, ...]) -> list[Group]:
    two_windings = len(ends) == 2 and min(ends) > 0 and 1.9 <= max(ends) / min(ends) <= 2.1
    return [Group((end,)) for end in ends] if two_windings else [Group(ends)]


def _close_ones_joined(parted: list[Group]) -> tuple[Group, ...]:
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


def paired(
    volts: tuple[Group, ...], amps: tuple[Group, ...]
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Volts and amperes one to one where the plate allows it, else each as printed.

    One ampere for a printed range holds at both of its ends.
    """
    flat_volts = tuple(v for g in volts for v in g.values)
    flat_amps = tuple(a for g in amps for a in g.values)
    if len(flat_volts) == len(flat_amps):
        return flat_volts, flat_amps
    if len(volts) != len(amps):
        return flat_volts, flat_amps
    spread = [_over(v, a) for v, a in zip(volts, amps, strict=True)]
    return flat_volts, tuple(a for ends in spread for a in ends)


def _over(volts: Group, amps: Group) -> tuple[float, ...]:
    """Amperes for each printed volt of one winding; ends of a range go with the ends of another."""
    if len(amps.values) == len(volts.values):
        return amps.values
    return (max(amps.values),) * len(volts.values)
