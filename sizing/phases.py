"""Chapter 8: spreading single-phase loads over the phases, and what each phase then carries."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence as Ordered
from dataclasses import dataclass

from sizing.nameplate import LoadDemand
from sizing.trace import Trace


@dataclass(frozen=True, slots=True)
class PhaseSpread:
    """Line currents with every single-phase piece placed; ``placement`` is (load index, phase) pairs.

    For a single-phase system the tuple holds leg 1, leg 2 and 0.
    """

    phase_amps: tuple[float, float, float]
    neutral_amps: float
    unbalance_percent: float
    placement: tuple[tuple[int, str], ...]
    proved: bool  # exact search finished
    third_harmonic_amps: float = 0.0


def spread(
    demands: Ordered[LoadDemand], system: str, trace: Trace | None = None
) -> PhaseSpread:
    """Return the line currents with every single-phase piece on a phase."""
    pairs = ("L1-N", "L2-N") if system == "120/240" else ("A-N", "B-N", "C-N")
    if system == "240/120":
        pairs = ("A-N", "C-N")
    lines = ("L1-L2",) if system == "120/240" else ("A-B", "B-C", "C-A")
    angles = {"L1": 0.0, "L2": math.pi, "A": 0.0, "B": -2 * math.pi / 3, "C": 2 * math.pi / 3}
    names = ("L1", "L2", "") if system == "120/240" else ("A", "B", "C")
    amps = {name: 0j for name in names}
    placement = []
    for demand in sorted(demands, key=lambda d: -d.amps):
        lag = -math.acos(min(1.0, demand.power_factor))
        for _ in range(demand.quantity):
            size = demand.amps * demand.demand_factor
            if demand.phases == 3:
                for name in names:
                    amps[name] += cmath.rect(size, angles[name] + lag)
                continue
            choices = lines if demand.connection == "line_line" else pairs
            best = min(choices, key=lambda c: max(abs(v) for v in _with(amps, c, size, lag, angles).values()))
            amps = _with(amps, best, size, lag, angles)
            placement.append((demand.index, best))
    values = [abs(amps[name]) for name in names]
    live = values[:2] if system == "120/240" else values
    mean = sum(live) / len(live)
    unbalance = 100 * max(abs(v - mean) for v in live) / mean if mean else 0.0
    return PhaseSpread(
        (values[0], values[1], values[2]), abs(sum(amps.values())), unbalance, tuple(placement), False
    )


def _with(
    amps: dict[str, complex], pair: str, size: float, lag: float, angles: dict[str, float]
) -> dict[str, complex]:
    first, second = pair.split("-")
    changed = dict(amps)
    if second == "N":
        changed[first] += cmath.rect(size, angles[first] + lag)
        return changed
    volts = cmath.rect(1, angles[first]) - cmath.rect(1, angles[second])
    current = cmath.rect(size, cmath.phase(volts) + lag)
    changed[first] += current
    changed[second] -= current
    return changed
