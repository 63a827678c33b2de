"""From lines that lie about a plate to the words a person would type from it.

Plates part labels and values: beside each other, above each other, in columns. A value is put to
its label by place and by its look; what belongs to no label stays a piece of its own.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from statistics import median

from intake.photos.engine import Line
from intake.photos.labels import LABELS, Label, bare_label, label_with_value, labels_of, value_for

_ORDER = {label.key: place for place, label in enumerate(LABELS)}
_SPACED_JOINT = re.compile(r"(?<=\d)\s*([/-])\s*(?=\d)")
_VALUES = re.compile(r"[\d/.,-]*\d[\d/.,-]*(?:\s+[\d/.,-]*\d[\d/.,-]*)+")
_LEAST_OVERLAP = 0.3
_FARTHEST_HEIGHTS = 3.5  # from a label down or up to its value
_MENDED = 0.9  # what a value whose letters were put right as digits loses in confidence


@dataclass(frozen=True, slots=True)
class Cell:
    """A text with its place on the plate once that is level."""

    text: str
    confidence: float
    left: float
    right: float
    top: float
    bottom: float

    @property
    def height(self) -> float:
        return self.bottom - self.top

    @property
    def middle(self) -> float:
        return (self.top + self.bottom) / 2


@dataclass(frozen=True, slots=True)
class Piece:
    """Words as a person would type them; ``key`` names the label, or is empty for free text."""

    words: str
    confidence: float
    key: str = ""


Look = Callable[[int, Sequence[Cell]], int | None]


def pieces(lines: Iterable[Line]) -> list[Piece]:
    """The plate's words in the order people type them, labels with their values first."""
    cells = [part for cell in level(list(lines)) for part in _parted(cell)]
    paired = _paired(cells)
    taken = {place for pair in paired.items() for place in pair}
    found = [_joined(cells[label], cells[value]) for label, value in paired.items()]
    found += [_alone(cell) for place, cell in enumerate(cells) if place not in taken]
    kept = [piece for piece in found if piece and piece.words]
    return sorted(kept, key=lambda piece: _ORDER.get(piece.key, len(_ORDER)))


def level(lines: Sequence[Line]) -> list[Cell]:
    """The lines as cells of a level plate, in reading order."""
    angle = _slant(lines)
    cells = [_cell(line, angle) for line in lines]
    return [cell for row in _rows(cells) for cell in sorted(row, key=lambda c: c.left)]


def _slant(lines: Sequence[Line]) -> float:
    """How far the plate is turned, in radians; long lines say it best."""
    angles = []
    for line in lines:
        (x0, y0), (x1, y1), _, (x3, y3) = line.corners
        if math.dist((x0, y0), (x1, y1)) > 1.5 * math.dist((x0, y0), (x3, y3)):
            angles.append(math.atan2(y1 - y0, x1 - x0))
    return median(angles) if angles else 0.0


def _cell(line: Line, angle: float) -> Cell:
    cos, sin = math.cos(angle), math.sin(angle)
    xs = [x * cos + y * sin for x, y in line.corners]
    ys = [y * cos - x * sin for x, y in line.corners]
    text = _SPACED_JOINT.sub(r"\1", " ".join(line.text.split()))
    return Cell(text, line.confidence, min(xs), max(xs), min(ys), max(ys))


def _rows(cells: Sequence[Cell]) -> list[list[Cell]]:
    """Cells that stand beside each other, row by row from the top."""
    rows: list[list[Cell]] = []
    for cell in sorted(cells, key=lambda c: c.middle):
        row = rows[-1] if rows else None
        if row and abs(cell.middle - median(c.middle for c in row)) < 0.5 * min(
            cell.height, median(c.height for c in row)
        ):
            row.append(cell)
        else:
            rows.append([cell])
    return rows


def _parted(cell: Cell) -> list[Cell]:
    """A cell that holds several labels, or several values, as that many cells."""
    words = labels_of(cell.text) or _value_and_next_label(cell.text)
    if len(words) < 2 and _VALUES.fullmatch(cell.text):
        words = cell.text.split()
    if len(words) < 2:
        return [cell]
    per_letter = (cell.right - cell.left) / max(1, len(cell.text))
    parts, place = [], 0
    for word in words:
        start = cell.text.index(word, place)
        place = start + len(word)
        left, right = cell.left + start * per_letter, cell.left + place * per_letter
        parts.append(Cell(word, cell.confidence, left, right, cell.top, cell.bottom))
    return parts


def _value_and_next_label(text: str) -> list[str]:
    """ "230/460 PH" is a value and the label after it; "3 PH" belongs together."""
    value, _, rest = text.partition(" ")
    label = bare_label(rest) if value[:1].isdigit() else None
    return [value, rest] if label and label.typed and not value_for(label, value) else []


def _paired(cells: Sequence[Cell]) -> dict[int, int]:
    """Places of labels with the places of their values.

    A plate keeps to one way, so the way that fits most labels is tried first.
    """
    labels = [(place, found) for place, cell in enumerate(cells) if (found := _label(cell))]
    fits = Counter({
        look: sum(
            _fit(look, place, label, cells) is not None for place, label in labels if label.typed
        )
        for look in _LOOKS
    })  # fmt: skip
    paired: dict[int, int] = {}
    for look, _count in fits.most_common():
        for place, label in labels:
            value = None if place in paired else _fit(look, place, label, cells)
            if value is not None and value not in paired.values():
                paired[place] = value
    return paired


def _label(cell: Cell) -> Label | None:
    return bare_label(cell.text)


def _fit(look: Look, place: int, label: Label, cells: Sequence[Cell]) -> int | None:
    """The value that lies this way from a label, if its look suits the label."""
    value = look(place, cells)
    if value is None or (_label(cells[value]) and len(cells[value].text) > 1):
        return None
    return value if value_for(label, cells[value].text) else None


def _to_the_right(place: int, cells: Sequence[Cell]) -> int | None:
    return _beside(place, cells, lambda own, other: other.left - own.right)


def _to_the_left(place: int, cells: Sequence[Cell]) -> int | None:
    return _beside(place, cells, lambda own, other: own.left - other.right)


def _beside(place: int, cells: Sequence[Cell], gap: Callable[[Cell, Cell], float]) -> int | None:
    own = cells[place]
    near = [
        (gap(own, other), n)
        for n, other in enumerate(cells)
        if n != place
        and abs(other.middle - own.middle) < 0.6 * max(own.height, other.height)
        and gap(own, other) > -0.5 * own.height
    ]
    return min(near)[1] if near else None


def _below(place: int, cells: Sequence[Cell]) -> int | None:
    return _stacked(place, cells, lambda own, other: other.middle - own.middle)


def _above(place: int, cells: Sequence[Cell]) -> int | None:
    return _stacked(place, cells, lambda own, other: own.middle - other.middle)


def _stacked(
    place: int, cells: Sequence[Cell], distance: Callable[[Cell, Cell], float]
) -> int | None:
    own = cells[place]
    near = [
        (distance(own, other) - _overlap(own, other) * own.height, n)
        for n, other in enumerate(cells)
        if n != place
        and 0.5 * own.height < distance(own, other) < _FARTHEST_HEIGHTS * own.height
        and _overlap(own, other) > _LEAST_OVERLAP
    ]
    return min(near)[1] if near else None


def _overlap(one: Cell, other: Cell) -> float:
    """How much of the narrower cell lies over or under the other: 1 is all of it."""
    shared = min(one.right, other.right) - max(one.left, other.left)
    return shared / max(1.0, min(one.right - one.left, other.right - other.left))


_LOOKS: tuple[Look, ...] = (_to_the_right, _below, _to_the_left, _above)


def _joined(label_cell: Cell, value_cell: Cell) -> Piece | None:
    label = _label(label_cell)
    value = value_for(label, value_cell.text) if label else None
    if label is None or value is None:
        return None
    sure = min(label_cell.confidence, value_cell.confidence)
    as_read = value.replace(" ", "") in value_cell.text.replace(" ", "")
    words = label.typed.format(value)
    return Piece(words, round(sure if as_read else sure * _MENDED, 3), label.key)


def _alone(cell: Cell) -> Piece | None:
    """A cell without a partner: a label and its value in one, or free text."""
    if _label(cell):
        return None
    found = label_with_value(cell.text)
    if found is None:
        return Piece(cell.text, cell.confidence)
    label, value = found
    return Piece(label.typed.format(value), cell.confidence, label.key)
