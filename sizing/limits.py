"""Chapter 7: the limits of the selection, and how a figure is held against one."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from sizing.check import Check
from sizing.tables import source_line, table

TOLERANCE = 1e-9  # a figure equal to its limit passes, whatever the last bit says


class Limit(NamedTuple):
    """A limit of the selection and where it stands."""

    value: float
    source: str


@cache
def limit(name: str) -> Limit:
    """Return a limit of the selection with its source.

    Parameters
    ----------
    name : str
        Key of the table ``selection_limits`` [-]

    Returns
    -------
    Limit
        Value in the unit of its row, and the row's source [-]

    Raises
    ------
    TableRefused
        The table holds no such limit.
    """
    return Limit(table("selection_limits").at("value", name), source_line("selection_limits", name))


def at_most(
    name: str, value: float, most: float, unit: str, source: str, *, binding: bool = True
) -> Check:
    """Return a check that holds where ``value`` does not exceed ``most``.

    Parameters
    ----------
    name : str
        Code of the check [-]
    value : float
        What would come about, in ``unit`` [unit]
    most : float
        The limit, in ``unit`` [unit]
    unit : str
        Unit of both [-]
    source : str
        Where the limit stands [-]
    binding : bool
        Whether a failure refuses the set [-]

    Returns
    -------
    Check
        ``required`` is the limit, ``provided`` the value [unit]

    Raises
    ------
    TypeError
        A figure is no number.
    """
    passed = value <= most + TOLERANCE * max(1.0, abs(most))
    return Check(name, most, value, unit, passed, source, binding)


def at_least(
    name: str, needed: float, value: float, unit: str, source: str, *, binding: bool = True
) -> Check:
    """Return a check that holds where ``value`` reaches ``needed``.

    Parameters
    ----------
    name : str
        Code of the check [-]
    needed : float
        What the job asks, in ``unit`` [unit]
    value : float
        What the set gives, in ``unit`` [unit]
    unit : str
        Unit of both [-]
    source : str
        Where the rule stands [-]
    binding : bool
        Whether a failure refuses the set [-]

    Returns
    -------
    Check
        ``required`` is the need, ``provided`` the value [unit]

    Raises
    ------
    TypeError
        A figure is no number.
    """
    passed = value >= needed - TOLERANCE * max(1.0, abs(needed))
    return Check(name, needed, value, unit, passed, source, binding)
