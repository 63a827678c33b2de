"""Typical pieces of equipment, for people who cannot read a plate; always marked as typical."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import NamedTuple

from sizing.plate import Nameplate
from sizing.plate_reading import read_nameplate
from sizing.tables import table


class TypicalEquipment(NamedTuple):
    """A generic piece of equipment: its kind and the plate that such a piece would have."""

    code: str
    name: str
    kind: str
    nameplate: str
    source: str


@cache
def typical_equipment() -> tuple[TypicalEquipment, ...]:
    """Return all typical pieces in the order in which a page lists them.

    Returns
    -------
    tuple of TypicalEquipment
        Generic pieces, no maker's data [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Source: typical_equipment.
    """
    return tuple(
        TypicalEquipment(r["code"], r["name"], r["kind"], r["nameplate"], r["source"])
        for r in table("typical_equipment").rows
    )


def typical_plate(code: str) -> Nameplate:
    """Return the plate of a typical piece, marked ``typical``.

    Parameters
    ----------
    code : str
        Code of the piece [-]

    Returns
    -------
    Nameplate
        As if it had been read [-]

    Raises
    ------
    TableRefused
        There is no such piece.

    Source: typical_equipment.
    """
    return replace(read_nameplate(table("typical_equipment").at("nameplate", code)), typical=True)
