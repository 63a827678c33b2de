"""The board: the needs and yards of an event on a schematic map, and beside it as a list."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from quotes.emergency.event.drawing import Drawing, Point, drawing
from quotes.emergency.event.lines import NeedLine, counts, need_lines
from quotes.emergency.planning.selectors import (
    branch_position,
    branches_in_reach,
    position,
)
from quotes.models import Branch, EmergencyEvent, NeedState

LINES = (NeedState.PROMISED, NeedState.ON_THE_WAY)


@dataclass(frozen=True, slots=True)
class Mark:
    """A need on the map; ``points`` are its corners, where its shape has some."""

    line: NeedLine
    x: float
    y: float
    points: str
    half: float  # of a square's side
    stalk: tuple[Point, Point] | None

    @property
    def left(self) -> float:
        return round(self.x - self.half, 1)

    @property
    def top(self) -> float:
        return round(self.y - self.half, 1)

    @property
    def side(self) -> float:
        return 2 * self.half


@dataclass(frozen=True, slots=True)
class YardMark:
    """A yard on the map, with the letter it has in the list."""

    letter: str
    branch: Branch
    x: float
    y: float
    points: str


@dataclass(frozen=True, slots=True)
class Route:
    """A set that goes, or is to go, from its yard to a need."""

    x1: float
    y1: float
    x2: float
    y2: float
    on_the_way: bool


@dataclass(frozen=True, slots=True)
class Board:
    """Everything the board shows at one moment."""

    marks: tuple[Mark, ...]
    yards: tuple[YardMark, ...]
    routes: tuple[Route, ...]
    drawing: Drawing
    lines: tuple[NeedLine, ...]
    counts: list[tuple[str, str, str, int]]
    unplaced: tuple[NeedLine, ...]


def board_of(event: EmergencyEvent, now: datetime) -> Board:
    """The board of an event."""
    lines = [line for line in need_lines(event, now) if line.need.state != NeedState.WITHDRAWN]
    placed = [(line, where) for line in lines if (where := position(line.need))]
    branches = branches_in_reach([line.need for line in lines])
    places = [*(branch_position(branch) for branch in branches), *(where for _, where in placed)]
    drawn = drawing(places)
    yards = tuple(_yards(branches, drawn))
    marks = tuple(_marks([line for line, _ in placed], drawn, len(branches)))
    unplaced = tuple(line for line in lines if position(line.need) is None)
    return Board(
        marks, yards, tuple(_routes(marks, yards)), drawn, tuple(lines), counts(lines), unplaced
    )


def _yards(branches: Sequence[Branch], drawn: Drawing) -> list[YardMark]:
    found = []
    for index, branch in enumerate(branches):
        x, y = drawn.spots[index].at
        found.append(YardMark(chr(65 + index % 26), branch, x, y, _house(x, y, drawn.mark)))
    return found


def _marks(lines: Sequence[NeedLine], drawn: Drawing, offset: int) -> list[Mark]:
    found = []
    for line, spot in zip(lines, drawn.spots[offset:], strict=True):
        x, y = spot.at
        points = SHAPE_POINTS.get(line.shape, _none)(x, y, drawn.mark)
        stalk = (spot.true, spot.at) if spot.moved else None
        found.append(Mark(line, x, y, points, round(0.95 * drawn.mark, 1), stalk))
    return found


def _routes(marks: Sequence[Mark], yards: Sequence[YardMark]) -> list[Route]:
    at = {yard.branch.name: yard for yard in yards}
    return [
        Route(yard.x, yard.y, mark.x, mark.y, mark.line.need.state == NeedState.ON_THE_WAY)
        for mark in marks
        if mark.line.has and mark.line.need.state in LINES and (yard := at.get(mark.line.has.yard))
    ]


# ---- shapes ------------------------------------------------------------------------------------


def _corners(*points: Point) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)


def _none(x: float, y: float, r: float) -> str:
    return ""


def _diamond(x: float, y: float, r: float) -> str:
    r *= 1.25
    return _corners((x, y - r), (x + r, y), (x, y + r), (x - r, y))


def _triangle(x: float, y: float, r: float) -> str:
    return _corners((x, y - 1.5 * r), (x + 1.45 * r, y + r), (x - 1.45 * r, y + r))


def _house(x: float, y: float, r: float) -> str:
    r *= 1.15
    return _corners(
        (x - r, y - 0.3 * r), (x, y - 1.3 * r), (x + r, y - 0.3 * r), (x + r, y + r), (x - r, y + r)
    )


SHAPE_POINTS = {"diamond": _diamond, "triangle": _triangle}
