"""Chapter 9: a day as blocks of load, its hourly means and the levels it moves between."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import NamedTuple

DAY_H = 24.0
TINY_H = 1e-9


class Window(NamedTuple):
    """Part of the day by the local clock; it may pass midnight."""

    start_h: float
    hours: float

    def covers(self, hour: float) -> bool:
        """Whether the hour of the clock lies in the window."""
        return (hour - self.start_h) % DAY_H < self.hours

    @property
    def edges(self) -> tuple[float, float]:
        """Start and end by the clock [h]."""
        return self.start_h % DAY_H, (self.start_h + self.hours) % DAY_H


class Block(NamedTuple):
    """Load over a window; ``duty`` under 1 where it comes and goes by itself within it."""

    kw: float
    window: Window
    duty: float = 1.0


class Cell(NamedTuple):
    """Stretch of the day in which no window opens or closes."""

    start_h: float
    hours: float
    steady_kw: float
    cycling_kw: float = 0.0
    duty: float = 0.0

    @property
    def mean_kw(self) -> float:
        """Mean load over the stretch [kW]."""
        return self.steady_kw + self.duty * self.cycling_kw


def merged(blocks: Iterable[Block]) -> list[Block]:
    """Blocks with those of the same window put together; a thousand loads make a few blocks.

    Parameters
    ----------
    blocks : iterable of Block
        Any number [-]

    Returns
    -------
    list of Block
        One a window and duty, without empty ones [-]

    Raises
    ------
    AttributeError
        Not blocks.

    Source: sum of loads.
    """
    sums: dict[tuple[Window, float], float] = defaultdict(float)
    for block in blocks:
        sums[block.window, block.duty] += block.kw
    return [Block(kw, window, duty) for (window, duty), kw in sums.items() if kw > 0]


def cells(blocks: Sequence[Block]) -> list[Cell]:
    """The day cut at every start and end, in order from midnight.

    Parameters
    ----------
    blocks : sequence of Block, shape (n,)
        At most one of them with a duty under 1 in any hour: a second pump runs through before a
        third comes on [-]

    Returns
    -------
    list of Cell
        Their hours sum to 24 h [-]

    Raises
    ------
    AttributeError
        Not blocks.

    Source: ISO 8528-1 for the day of 24 h and standstill left out.
    """
    edges = sorted({0.0, DAY_H, *(edge for block in blocks for edge in block.window.edges)})
    spans = itertools.pairwise(edges)
    return [_cell(blocks, start, end) for start, end in spans if end - start > TINY_H]


def _cell(blocks: Sequence[Block], start_h: float, end_h: float) -> Cell:
    inside = [b for b in blocks if b.window.covers((start_h + end_h) / 2)]
    steady_kw = sum(b.kw for b in inside if b.duty >= 1)
    cycling = next((b for b in inside if b.duty < 1), None)
    if cycling is None:
        return Cell(start_h, end_h - start_h, steady_kw)
    return Cell(start_h, end_h - start_h, steady_kw, cycling.kw, cycling.duty)


def hourly_kw(day: Iterable[Cell]) -> tuple[float, ...]:
    """Mean load of each hour of the clock [kW].

    Parameters
    ----------
    day : iterable of Cell
        Cells from midnight to midnight [-]

    Returns
    -------
    tuple of float, shape (24,)
        Means [kW]; their sum is the day's energy [kWh].

    Raises
    ------
    AttributeError
        Not cells.

    Source: ISO 8528-1 for the day of 24 h and standstill left out.
    """
    hours = [0.0] * 24
    for cell in day:
        for hour in range(24):
            overlap = min(hour + 1, cell.start_h + cell.hours) - max(hour, cell.start_h)
            hours[hour] += max(0.0, overlap) * cell.mean_kw
    return tuple(hours)


def load_levels(
    day: Iterable[Cell], unloaded_share: float = 0.0
) -> tuple[tuple[float, float], ...]:
    """Loads between which the day moves, while the engine runs.

    Parameters
    ----------
    day : iterable of Cell
        Cells of the day [-]
    unloaded_share : float
        Time that warm-up and cool-down of the engine's own starts take, as a share of the hour,
        0 or more; it fills pauses and never more than the pause [-]

    Returns
    -------
    tuple of (float, float), shape (n, 2)
        Load [kW] and hours a day [h], loads descending; standstill is left out.

    Raises
    ------
    AttributeError
        Not cells.

    Source: ISO 8528-1 for the day of 24 h and standstill left out.
    """
    spans: dict[float, float] = defaultdict(float)
    for cell in day:
        for kw, hours in _spans(cell, unloaded_share):
            spans[round(kw, 6)] += hours
    return tuple(sorted(((k, h) for k, h in spans.items() if h > TINY_H), reverse=True))


def _spans(cell: Cell, unloaded_share: float) -> Iterable[tuple[float, float]]:
    """Levels of one stretch and their hours."""
    on_h = cell.duty * cell.hours
    if cell.cycling_kw:
        yield cell.steady_kw + cell.cycling_kw, on_h
    off_h = cell.hours - on_h
    if cell.steady_kw:
        yield cell.steady_kw, off_h
    elif cell.cycling_kw:
        yield 0.0, min(off_h, unloaded_share * cell.hours)
