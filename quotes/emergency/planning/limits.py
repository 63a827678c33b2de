"""How long a plan may take: by itself more for a large event, up to a bound the owner sets."""

from __future__ import annotations

import math

import numpy as np
from django.conf import settings

# Sites times sets, and how many times EMERGENCY_SECONDS; measured, see config/SCALE.md.
SIZES = (30_000, 150_000, 500_000, 2_000_000)
TIMES = (1.0, 4.0, 5.0, 18.0)
LATE = 1.25  # a search ends between steps: measured, it overran its time by a tenth at most
REST_S = 90  # reading, sizing neighbours together, the words and the storing


def plan_seconds(sites: int, sets: int) -> float:
    """How long a plan of so many sites and sets may be searched for, in seconds.

    ``EMERGENCY_SECONDS`` up to 200 sites by 150 sets, straight lines between what was measured, in
    step with the largest beyond it, and never more than ``EMERGENCY_SECONDS_MOST``.
    """
    size = sites * sets
    times = float(np.interp(size, SIZES, TIMES)) * max(1.0, size / SIZES[-1])
    usual: float = settings.EMERGENCY_SECONDS
    most: float = settings.EMERGENCY_SECONDS_MOST
    return min(most, usual * times)


def task_limit_s() -> int:
    """After how many seconds the task of a plan is ended: none that keeps its time gets there."""
    most: float = settings.EMERGENCY_SECONDS_MOST
    usual: int = settings.TASK_TIME_LIMIT_S
    return max(usual, math.ceil(LATE * most + REST_S))


def time_words(seconds: float) -> str:
    """So many seconds as people say it: ``20 s``, ``about 6 min``."""
    return f"{seconds:.0f} s" if seconds < 100 else f"about {math.ceil(seconds / 60)} min"
