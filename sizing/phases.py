"""Chapter 8: spreading single-phase loads over the phases, and what each phase then carries."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from collections.abc import Sequence as Ordered
from dataclasses import dataclass, replace
from itertools import chain, repeat
from typing import NamedTuple

from sizing.errors import SizingError, TableRefused
from sizing.harmonics import unbalance_percent
from sizing.lines import SYSTEMS, Currents, Place, System
from sizing.placing import NOTHING, Piece, minus, phasor, place_pieces, plus
from sizing.plate import LoadDemand
from sizing.tables import table
from sizing.together import exclusions, heaviest
from sizing.trace import Trace

SQRT3 = math.sqrt(3)
MOST_LINES = 12


class PhasesRefused(SizingError):
    """A three-phase load cannot be put on a single-phase system."""

    code = "phases_refused"


@dataclass(frozen=True, slots=True)
class PhaseSpread:
    """Line currents with every single-phase piece placed.

    ``placement`` holds (load index, phase) pairs, one a piece. For a single-phase system
    ``phase_amps`` holds leg 1, leg 2 and 0. ``neutral_amps`` is the fundamental;
    ``third_harmonic_amps`` is what third harmonics add up to in the neutral.
    ``lower_bound_amps`` is a floor for the worst line under any placing.
    """

    phase_amps: tuple[float, float, float]
    neutral_amps: float
    unbalance_percent: float
    placement: tuple[tuple[int, str], ...]
    proved: bool  # exact search finished
    third_harmonic_amps: float = 0.0
    lower_bound_amps: float = 0.0


def spread(demands: Ordered[LoadDemand], system: str, trace: Trace | None = None) -> PhaseSpread:
    """Return the line currents with every single-phase piece where the worst line carries least.

    Equation: I_line = sum of phasors; min over placings of max |I_line|.

    Parameters
    ----------
    demands : sequence of LoadDemand
        Running demand of each row at this system [-]
    system : str
        One of ``SUPPLIES`` [-]
    trace : Trace, optional
        Takes the lines of the calculation where given [-]

    Returns
    -------
    PhaseSpread
        Line and neutral currents [A], unbalance [%], placement, and whether it is proved best

    Raises
    ------
    PhasesRefused
        A three-phase row stands on a single-phase system.
    TableRefused
        There is no such system.

    Notes
    -----
    Phasors at each load's own power factor: a piece between two lines loads both, 30 degrees off
    their own. On the high-leg delta no 120 V piece sits on the high leg. Rows that never run
    together: the heavier choice is spread, then each other row is put where its rivals leave
    most room, and each line keeps the larger current. Third harmonics of wye neutrals add up;
    at 120/240 those of the two legs cancel as the fundamental does. Rated current is compared
    with the worst line: three times the worst phase's kVA is what the set must carry.

    Source: circuit theory; TM 5-6115-545-12 fig. 2-3 asks that no phase go above its line amps.

    Examples
    --------
    1000 W at 120 V four times on 208Y/120: two pieces on one phase, 16.7 A there.
    """
    lines = _system(system)
    _refuse_three_phase(demands, lines)
    apart = exclusions(demands)
    rows = {demand.index: demand for demand in demands}
    chosen = heaviest(rows, apart, lambda i: rows[i].quantity * _row_amps(rows[i], lines))
    mine = [demand for demand in demands if demand.index in chosen]
    found, brought = _spread(mine, lines)
    for demand in demands:
        if demand.index not in chosen:
            gone = [brought[index] for index in apart[demand.index] & chosen]
            found = _with_rival(found, demand, _less(brought.values(), gone), lines)
    if trace is not None:
        _write(trace, rows, lines, found)
    return found


class _Row(NamedTuple):
    """What one row brings: line currents, neutral and third harmonic in the neutral [A]."""

    lines: Currents
    neutral: complex = 0j
    third: complex = 0j


def _system(name: str) -> System:
    if name not in SYSTEMS:
        raise TableRefused(f"there is no system {name}; the systems are {', '.join(SYSTEMS)}")
    return SYSTEMS[name]


def _refuse_three_phase(demands: Iterable[LoadDemand], system: System) -> None:
    if len(system.lines) == 3:
        return
    names = [demand.name for demand in demands if demand.phases == 3]
    if names:
        raise PhasesRefused(
            f"{', '.join(names)}: three-phase on {system.name}. Choose a three-phase supply."
        )


def _row_amps(demand: LoadDemand, system: System) -> float:
    """Current of one piece at this system, demand factor applied [A].

    A piece behind a transformer draws by its kVA at the line voltage, not its own amperes.
    """
    amps = demand.amps
    if demand.via == "transformer":
        roots = SQRT3 if demand.phases == 3 else 1.0
        amps = demand.running_kva * 1000 / (roots * system.line_volts)
    return amps * demand.demand_factor


def _piece(demand: LoadDemand, system: System) -> Piece:
    neutral = demand.connection == "line_neutral" and demand.via != "transformer"
    places = system.line_neutral if neutral else system.line_line
    current = phasor(_row_amps(demand, system), demand.power_factor)
    return Piece(demand.index, current, places)


def _spread(demands: Ordered[LoadDemand], system: System) -> tuple[PhaseSpread, dict[int, _Row]]:
    """Spread of rows that all run together, and what each brings."""
    rules = table("step_rules")
    rows = {d.index: _balanced_row(d, system) for d in demands if d.phases == 3}
    single = [d for d in demands if d.phases != 3]
    evenly, pieces = _split(single, system, int(rules.at("value", "phase_search_pieces")))
    by_index = {d.index: d for d in single}
    for piece, place, count in evenly:
        rows[piece.index] = _join(rows.get(piece.index), piece, place, by_index[piece.index], count)
    placing = place_pieces(
        pieces, system, _total(rows.values()).lines,
        int(rules.at("value", "phase_search_nodes")), int(rules.at("value", "phase_search_swaps")),
    )  # fmt: skip
    for piece, place in zip(pieces, placing.places, strict=True):
        rows[piece.index] = _join(rows.get(piece.index), piece, place, by_index[piece.index])
    ones = [(piece, place, 1) for piece, place in zip(pieces, placing.places, strict=True)]
    names = chain.from_iterable(
        repeat((piece.index, piece.places[place].name), n) for piece, place, n in evenly + ones
    )
    found = _measured(rows.values(), system, tuple(names))
    return replace(
        found, proved=placing.proved and not evenly, lower_bound_amps=placing.lower_bound_amps
    ), rows


def _balanced_row(demand: LoadDemand, system: System) -> _Row:
    """A three-phase row; on a wye its third harmonics meet in the neutral."""
    amps = demand.quantity * _row_amps(demand, system)
    current = phasor(amps, demand.power_factor)
    a, b, c = (current * unit for unit in system.balanced)
    wye = len(system.line_neutral) == 3
    return _Row((a, b, c), 0j, complex(3 * amps * demand.third_harmonic_share if wye else 0.0))


def _split(
    demands: Iterable[LoadDemand], system: System, most: int
) -> tuple[list[tuple[Piece, int, int]], list[Piece]]:
    """Pieces spread evenly at once, with place and count, and pieces to be placed one by one.

    Up to ``most`` pieces all are placed one by one; above, only what an even spread of each row
    leaves over.
    """
    rows = [(_piece(demand, system), demand.quantity) for demand in demands]
    if sum(quantity for _, quantity in rows) <= most:
        return [], [piece for piece, quantity in rows for _ in range(quantity)]
    evenly: list[tuple[Piece, int, int]] = []
    rest: list[Piece] = []
    for piece, quantity in rows:
        sides = len(piece.places)
        evenly += [(piece, place, quantity // sides) for place in range(sides)]
        rest += [piece] * (quantity % sides)
    return evenly, rest


def _join(row: _Row | None, piece: Piece, place: int, demand: LoadDemand, count: int = 1) -> _Row:
    """The row with so many more pieces at a place."""
    row = row or _Row(NOTHING)
    where: Place = piece.places[place]
    current = count * piece.current
    a, b, c = (current * unit for unit in where.unit)
    third = abs(current) * demand.third_harmonic_share * where.third
    return _Row(
        plus(row.lines, (a, b, c)), row.neutral + current * where.neutral, row.third + third
    )


def _total(rows: Iterable[_Row]) -> _Row:
    lines, neutral, third = NOTHING, 0j, 0j
    for row in rows:
        lines = plus(lines, row.lines)
        neutral += row.neutral
        third += row.third
    return _Row(lines, neutral, third)


def _less(rows: Iterable[_Row], gone: Iterable[_Row]) -> _Row:
    """All rows together without those that are gone."""
    all_, out = _total(rows), _total(gone)
    return _Row(minus(all_.lines, out.lines), all_.neutral - out.neutral, all_.third - out.third)


def _measured(
    rows: Iterable[_Row], system: System, placement: tuple[tuple[int, str], ...]
) -> PhaseSpread:
    """Magnitudes of the summed phasors."""
    total = _total(rows)
    a, b, c = (abs(current) for current in total.lines)
    return PhaseSpread(
        phase_amps=(a, b, c),
        neutral_amps=abs(total.neutral),
        unbalance_percent=unbalance_percent((a, b, c)[: len(system.lines)]),
        placement=placement,
        proved=True,
        third_harmonic_amps=abs(total.third),
    )


def _with_rival(found: PhaseSpread, rival: LoadDemand, kept: _Row, system: System) -> PhaseSpread:
    """The larger current of each line, with and without a row that runs in place of others."""
    alone, brought = _spread_on(rival, kept.lines, system)
    other = _measured([kept, brought], system, ())
    a, b, c = (max(pair) for pair in zip(found.phase_amps, other.phase_amps, strict=True))
    return replace(
        found,
        phase_amps=(a, b, c),
        neutral_amps=max(found.neutral_amps, other.neutral_amps),
        unbalance_percent=max(found.unbalance_percent, other.unbalance_percent),
        placement=found.placement + alone,
        third_harmonic_amps=max(found.third_harmonic_amps, other.third_harmonic_amps),
        proved=False,
    )


def _spread_on(
    demand: LoadDemand, base: Currents, system: System
) -> tuple[tuple[tuple[int, str], ...], _Row]:
    """Placement of one row on lines that carry something, and what it brings."""
    if demand.phases == 3:
        return (), _balanced_row(demand, system)
    pieces = [_piece(demand, system)] * demand.quantity
    placing = place_pieces(pieces, system, base, 0, 0)
    row = None
    for piece, place in zip(pieces, placing.places, strict=True):
        row = _join(row, piece, place, demand)
    names = ((p.index, p.places[n].name) for p, n in zip(pieces, placing.places, strict=True))
    return tuple(names), row or _Row(NOTHING)


def _write(trace: Trace, rows: dict[int, LoadDemand], system: System, found: PhaseSpread) -> None:
    counted = Counter(found.placement)
    for (index, place), count in list(counted.items())[:MOST_LINES]:
        row = rows[index]
        trace.add(
            "phases",
            f"{place}: {count} x {row.name}, {_row_amps(row, system):.2f} A "
            f"at {row.power_factor:.2f} each",
            "least current in the worst line, " + ("proved" if found.proved else "heuristic"),
        )
    amps = ", ".join(
        f"{line} {amps:.1f} A" for line, amps in zip(system.lines, found.phase_amps, strict=False)
    )
    trace.add(
        "phases",
        f"{amps}; no placing under {found.lower_bound_amps:.1f} A in the worst line; "
        f"unbalance {found.unbalance_percent:.1f} %",
        "sum of phasors",
    )
    trace.add(
        "phases",
        f"neutral {found.neutral_amps:.1f} A, third harmonics {found.third_harmonic_amps:.1f} A: "
        f"sqrt({found.neutral_amps:.1f}^2 + {found.third_harmonic_amps:.1f}^2) = "
        f"{math.hypot(found.neutral_amps, found.third_harmonic_amps):.1f} A",
        "Masters, Renewable and Efficient Electric Power Systems, ex. 2.13",
    )
