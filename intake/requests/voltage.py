"""From what the customer sees, plates and plugs, to the voltage; and where these disagree."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _

from intake.models import RequestLoad
from intake.questions.power import PLUGS, SUPPLY
from intake.questions.typical import typical_plate
from sizing.errors import SizingError
from sizing.nameplate import NameplateRefused, read_nameplate
from sizing.requirement import Load
from sizing.supply import likely_system, suits

_NEIGHBORS = frozenset({"120/240", "208Y/120", "240/120"})
# Which systems a plug can belong to: by its rated voltage and wires (ANSI/NEMA WD 6, from memory).
PLUG_SYSTEMS: dict[str, frozenset[str]] = {
    "5-20": _NEIGHBORS,
    "L5-30": _NEIGHBORS,
    "L6-30": _NEIGHBORS,
    "L14-30": frozenset({"120/240", "240/120"}),
    "14-50": frozenset({"120/240", "240/120"}),
    "L21-30": frozenset({"208Y/120"}),
    "L16-30": frozenset({"480Y/277"}),
}


@dataclass(frozen=True, slots=True)
class VoltageHint:
    """What the plates point at, and what does not go with the voltage chosen."""

    points_at: str = ""
    doubts: tuple[str, ...] = ()


def voltage_hint(rows: Iterable[RequestLoad], supply: str, plugs: Iterable[str]) -> VoltageHint:
    """The hint beside the question of the voltage; it decides nothing and blocks nothing.

    What the plates point at stays whatever is chosen: a hint that goes away moves the button
    below it from under the finger, and the press is lost.
    """
    loads = plates_read(rows)
    points_at = _named(_likely(loads))
    if not supply or supply == "unsure":
        return VoltageHint(points_at)
    doubts = [*_plates_that_disagree(loads, supply), *_plugs_that_disagree(plugs, supply)]
    return VoltageHint(points_at, tuple(doubts))


def plates_read(rows: Iterable[RequestLoad]) -> list[Load]:
    """Rows whose plate says something."""
    loads = []
    for row in rows:
        given = row.nameplate or (typical_plate(row.typical_code) if row.typical_code else "")
        try:
            loads.append(Load(row.name, row.kind, read_nameplate(given), row.quantity))
        except NameplateRefused:
            continue
    return loads


def _likely(loads: list[Load]) -> str | None:
    try:
        return likely_system(loads)
    except SizingError:
        return None


def _named(system: str | None) -> str:
    choice = SUPPLY.choice(system or "")
    return str(choice.label) if choice else ""


def _plates_that_disagree(loads: list[Load], supply: str) -> list[str]:
    return [
        _("The plate of {name} does not fit {supply} V.").format(name=load.name, supply=supply)
        for load in loads
        if suits(load.nameplate, load.kind, supply).verdict in ("never", "transformer")
    ]


def _plugs_that_disagree(plugs: Iterable[str], supply: str) -> list[str]:
    found = []
    for plug in plugs:
        choice = PLUGS.choice(plug)
        if choice is not None and supply not in PLUG_SYSTEMS[plug]:
            sentence = _("A plug marked {plug} does not belong to {supply} V.")
            found.append(sentence.format(plug=plug, supply=supply))
    return found
