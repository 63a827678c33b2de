"""What of a reading is believed: a reader loses decimal points and is sure of what is left.

The figures of a plate check each other: a current that its own power and voltage put far away was
misread, or they were. Then they are left out for the customer to type: missed, rather than wrong.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Any

from intake.photos.layout import Piece
from sizing.nameplate import Nameplate

LEAST_CONFIDENCE = 0.6  # below it a field is not offered
UNCHECKED = 0.6  # how sure a field is at most that may have lost a point and nothing checks
CONTRADICTED = 0.4  # how sure one is at most that stands in a line with others
FARTHEST = 3.0  # currents and powers of true plates lie well within this ratio
TYPICAL_PF_TIMES_EFFICIENCY = 0.75
KW_PER_HP = 0.7457
POWERS = frozenset({"hp", "shaft_kw", "watts", "kva"})
CURRENTS = frozenset({"amps", "min_circuit_amps", "max_overcurrent_amps", "locked_rotor_amps"})
_PERHAPS_LOST_ITS_POINT = re.compile(r"(?<![\d.,])\d{3,4}(?![\d.,])")

Telling = tuple[Piece, dict[str, Any]]


def believable(telling: Sequence[Telling]) -> list[Telling]:
    """The pieces without those that were hardly read."""
    return [one for one in telling if one[0].confidence >= LEAST_CONFIDENCE]


def in_doubt(plate: Nameplate) -> frozenset[str]:
    """The fields that contradict each other so far that one of them must have been misread."""
    expected = expected_amps(plate)
    if not plate.amps or not expected:
        return frozenset()
    fits = [any(1 / FARTHEST <= a / e <= FARTHEST for e in expected) for a in plate.amps]
    if all(fits):
        return frozenset()
    return frozenset({"amps"}) if any(fits) else POWERS | {"amps"}


def checked(plate: Nameplate) -> frozenset[str]:
    """The currents that the plate's own power confirms."""
    return frozenset({"amps"}) if plate.amps and expected_amps(plate) else frozenset()


def expected_amps(plate: Nameplate) -> list[float]:
    """What the stamped power draws at each stamped voltage, roughly [A]; empty if unknown."""
    kva = apparent_kva(plate)
    phases = (plate.phases,) if plate.phases else (1, 3)
    return [kva * 1000 / (v * math.sqrt(n)) for v in plate.volts for n in phases] if kva else []


def apparent_kva(plate: Nameplate) -> float | None:
    """The power taken from the line, roughly [kVA]."""
    if plate.kva is not None:
        return float(plate.kva)
    if plate.watts is not None:
        return float(plate.watts) / 1000
    shaft_kw = plate.shaft_kw if plate.hp is None else plate.hp * KW_PER_HP
    return None if shaft_kw is None else float(shaft_kw) / TYPICAL_PF_TIMES_EFFICIENCY


def most_confidence(
    plate: Nameplate, used: Sequence[Telling], doubted: frozenset[str]
) -> dict[str, float]:
    """How sure fields may be at most: a current of three figures wants something to check it."""
    most = {
        name: UNCHECKED
        for piece, said in used
        for name in CURRENTS & set(said) - checked(plate)
        if _PERHAPS_LOST_ITS_POINT.search(piece.words)
    }
    return most | dict.fromkeys(doubted, CONTRADICTED)
