"""Where things stand on the schematic map: coordinates to places on a drawing. Pure.

The drawing keeps directions and rough distances; what would overlap is moved apart, with a thin
line to where it really is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

WIDTH, HEIGHT, MARGIN = 400.0, 380.0, 26.0
MARK, SMALL_MARK = 10.0, 6.0
MANY = 60
WORK = 250_000  # pairs looked at while marks are moved apart
SCALE_BARS_KM = (1, 2, 5, 10, 20, 50, 100, 200)

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on the drawing; ``at`` is where its mark is, ``true`` where it really lies."""

    at: Point
    true: Point

    @property
    def moved(self) -> bool:
        return math.dist(self.at, self.true) > 4


@dataclass(frozen=True, slots=True)
class Drawing:
    """Spots in the order of the places, the size of a mark, and a bar of so many kilometres."""

    spots: tuple[Spot, ...]
    mark: float
    bar_km: int
    bar: float

    @property
    def bar_left(self) -> float:
        return round(WIDTH - MARGIN / 2 - self.bar, 1)


def drawing(places: Sequence[tuple[float, float]]) -> Drawing:
    """Places in degrees, latitude and longitude, on the drawing; north is up."""
    true, km = _projected(places)
    mark = MARK if len(places) <= MANY else SMALL_MARK
    at = _apart(true, 2.8 * mark)
    bar_km = max((one for one in SCALE_BARS_KM if one * km <= WIDTH / 3), default=1)
    spots = tuple(Spot(_rounded(a), _rounded(t)) for a, t in zip(at, true, strict=True))
    return Drawing(spots, mark, bar_km, round(bar_km * km, 1))


def _projected(places: Sequence[tuple[float, float]]) -> tuple[list[Point], float]:
    """Points on the drawing, and how much of it one kilometre takes.

    Equirectangular about the middle latitude: true enough for one county.
    """
    if not places:
        return [], 1.0
    middle = math.radians(sum(latitude for latitude, _ in places) / len(places))
    flat = [(lon * 111.195 * math.cos(middle), -lat * 111.195) for lat, lon in places]
    left, top = (min(point[axis] for point in flat) for axis in (0, 1))
    wide, high = (max(point[axis] for point in flat) - low for axis, low in ((0, left), (1, top)))
    scale = min((WIDTH - 2 * MARGIN) / max(wide, 1.0), (HEIGHT - 2 * MARGIN) / max(high, 1.0))
    shift_x = (WIDTH - wide * scale) / 2
    shift_y = (HEIGHT - high * scale) / 2
    return [((x - left) * scale + shift_x, (y - top) * scale + shift_y) for x, y in flat], scale


def _apart(true: Sequence[Point], least: float) -> list[Point]:
    """Points moved until no two are nearer than ``least``, as far as room and patience go."""
    points = [list(point) for point in true]
    count = len(points)
    for _ in range(max(1, WORK // max(1, count * count))):
        moved = False
        for i in range(count):
            for j in range(i + 1, count):
                moved |= _push(points[i], points[j], least, i * 2.4 + j)
        if not moved:
            break
    return [(x, y) for x, y in points]


def _push(one: list[float], other: list[float], least: float, angle: float) -> bool:
    """Move two points apart by half of what is missing each; where they coincide, by ``angle``."""
    x, y = other[0] - one[0], other[1] - one[1]
    distance = math.hypot(x, y)
    if distance >= least - 0.1:
        return False
    if distance < 0.01:
        x, y, distance = math.cos(angle), math.sin(angle), 1.0
    step = (least - math.hypot(other[0] - one[0], other[1] - one[1])) / 2
    for point, sign in ((one, -1), (other, 1)):
        point[0] = min(WIDTH - MARGIN / 2, max(MARGIN / 2, point[0] + sign * step * x / distance))
        point[1] = min(HEIGHT - MARGIN / 2, max(MARGIN / 2, point[1] + sign * step * y / distance))
    return True


def _rounded(point: Point) -> Point:
    return round(point[0], 1), round(point[1], 1)
