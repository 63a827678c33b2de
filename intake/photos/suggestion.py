"""What a photo suggests for the nameplate: text, and how sure each field of it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from intake.photos.believing import Telling, believable, in_doubt, most_confidence
from intake.photos.engine import Line
from intake.photos.layout import Piece, pieces
from sizing.nameplate import Nameplate, NameplateRefused, as_object, read_nameplate
from sizing.plate_text import plate_text

READ, NOTHING, UNREADABLE = "read", "nothing", "unreadable"
LONGEST_TEXT = 500  # what the nameplate box takes
SURE = 0.9
PRIMARY, SECONDARY = "primary", "secondary"
_SAYS_NOTHING = {"text", "noted", "not_understood", "volt_ranges", "typical"}
_LOCKED_ROTOR = "locked_rotor_amps_each"  # the same figure as the field that is shown


@dataclass(frozen=True, slots=True)
class FieldRead:
    """A field that the text says something of, with how sure the reading is of it."""

    name: str
    confidence: float

    @property
    def sure(self) -> bool:
        return self.confidence >= SURE

    @property
    def percent(self) -> int:
        return min(99, round(100 * self.confidence))  # a reader is never certain


def suggestion_from(lines: Sequence[Line]) -> dict[str, Any]:
    """The suggestion to be stored: raw lines, the text to type, its fields with confidences."""
    raw = [{"text": line.text, "confidence": line.confidence} for line in lines]
    telling = [(piece, said) for piece in pieces(lines) if (said := _said(piece))]
    text, used, doubted = _believed(believable(telling))
    plate = _plate(text)
    if plate is None:
        return {"state": NOTHING, "lines": raw}
    most = most_confidence(plate, used, doubted)
    fields = {
        name: min(_confidence(name, value, used), most.get(name, 1.0))
        for name, value in _shown(plate).items()
    }
    return {"state": READ, "lines": raw, "text": text, "fields": fields}


def suggestion_unreadable() -> dict[str, Any]:
    """The suggestion of a file that is no picture any more."""
    return {"state": UNREADABLE, "lines": []}


def fields_read(suggestion: dict[str, Any]) -> list[FieldRead]:
    """The fields of a stored suggestion, in the order in which they are shown."""
    return [FieldRead(name, sure) for name, sure in suggestion.get("fields", {}).items()]


def _said(piece: Piece) -> dict[str, Any]:
    """What a piece says by itself; a piece of names and numbers of no use says nothing."""
    try:
        return _shown(plate_text(piece.words))
    except NameplateRefused:
        return {}


def _shown(plate: Nameplate) -> dict[str, Any]:
    said = as_object(plate).items()
    return {n: v for n, v in said if n not in _SAYS_NOTHING and n != _LOCKED_ROTOR and v}


def _text(telling: Sequence[Telling]) -> tuple[str, list[Telling]]:
    """The pieces' words in one line, without repeats, as many as the box takes."""
    text, used = "", list[Telling]()
    for piece, said in telling:
        if piece.key == SECONDARY and not (used and used[-1][0].key == PRIMARY):
            continue  # alone it would read as the voltage that the machine takes
        longer = f"{text} {piece.words}".strip()
        repeated = any(said.items() <= other.items() for _, other in used)
        if not repeated and len(longer) <= LONGEST_TEXT:
            text, used = longer, [*used, (piece, said)]
    return text, used


def _believed(telling: Sequence[Telling]) -> tuple[str, list[Telling], frozenset[str]]:
    """The text without the figures that contradict each other too far; and which fields these are.

    Where such a figure stands in a line with others, it stays with them and is doubted.
    """
    text, used = _text(telling)
    plate = _plate(text)
    doubted = in_doubt(plate) if plate else frozenset[str]()
    kept = [one for one in telling if not set(one[1]) <= doubted]
    return (*(_text(kept) if doubted else (text, used)), doubted)


def _plate(text: str) -> Nameplate | None:
    try:
        return read_nameplate(text)
    except NameplateRefused:
        return None


def _confidence(name: str, value: Any, used: Sequence[Telling]) -> float:
    """How sure a field is: as sure as the piece that says it, half where pieces contradict.

    What only several pieces say together is as sure as the least sure of them.
    """
    saying = [(piece.confidence, said[name]) for piece, said in used if name in said]
    if not saying:
        return round(min(piece.confidence for piece, _ in used), 3)
    agreeing = [sure for sure, said in saying if said == value or len(saying) == 1]
    if len(agreeing) == len(saying):
        return round(min(agreeing), 3)
    return round(min(sure for sure, _ in saying) / 2, 3)
