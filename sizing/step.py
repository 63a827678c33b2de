"""Chapter 4: one moment of load acceptance."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Step:
    """One moment of load acceptance.

    ``starting`` and ``running`` hold indices of load rows; before_* is what already runs.
    ``start_kva`` is the vector sum of what starts. ``balanced_start_kva`` is the balanced
    three-phase start that loads the worst phase alike: above ``start_kva`` where single-phase
    pieces start, ``None`` where there are none. ``stands`` names the rows of ``allowable_dip``
    that the running loads fall under; ``None`` where nobody has looked.
    """

    name: str
    starting: tuple[int, ...]
    running: tuple[int, ...]
    start_kva: float
    start_kw: float
    start_power_factor: float
    before_kw: float
    before_kva: float
    settled_kw: float  # real power added once the start is over
    balanced_start_kva: float | None = None
    stands: tuple[str, ...] | None = None
    sustained_kw: float | None = None  # of start_kw what outlasts an inrush; None where all does

    @property
    def kick_kw(self) -> float:
        """Real power that comes on at once and stays long enough for an engine to feel: of the
        start without inrush, or of running if that is more [kW]."""
        sustained = self.start_kw if self.sustained_kw is None else self.sustained_kw
        return max(sustained, self.settled_kw)

    @property
    def momentary_kw(self) -> float:
        """Real power in the moment of the step, all told [kW]."""
        return self.before_kw + self.kick_kw

    @property
    def dip_kva(self) -> float:
        """Apparent power of the start as the dip sees it: balanced [kVA]."""
        return self.start_kva if self.balanced_start_kva is None else self.balanced_start_kva

    @property
    def before_kvar(self) -> float:
        """Reactive power of what already runs [kvar]."""
        return math.sqrt(max(self.before_kva**2 - self.before_kw**2, 0.0))
