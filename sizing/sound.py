"""Chapter 11: sound of the set at the listener, and what would satisfy the limit."""

from __future__ import annotations

import math
from collections.abc import Iterable

from sizing.errors import OutsideTable
from sizing.fleet import GeneratorSet

REFERENCE_M = 7.0
NEAREST_M = 1.0  # closer, the set is no point source


def sum_levels_dba(levels_dba: Iterable[float]) -> float:
    """Level of several sources together [dBA]: L = 10 log10(sum 10^(Li/10)).

    Parameters
    ----------
    levels_dba : iterable of float
        Level of each source at the listener [dBA], at least one.

    Returns
    -------
    float
        Level [dBA].

    Raises
    ------
    ValueError
        No level is given.

    Examples
    --------
    >>> round(sum_levels_dba([50, 50]), 1)
    53.0

    Source: FHWA Highway Noise Barrier Design Handbook, chapter 3.
    """
    return 10 * math.log10(sum(10 ** (level / 10) for level in levels_dba))


def level_at_dba(level_dba: float, at_m: float, to_m: float) -> float:
    """Level of a point source at another distance [dBA]: L - 20 log10(to/at).

    Parameters
    ----------
    level_dba : float
        Level at ``at_m`` [dBA].
    at_m, to_m : float
        Distances from the source [m], ``to_m`` 1 m or more.

    Returns
    -------
    float
        Level [dBA] over hard ground; soft ground is quieter.

    Raises
    ------
    OutsideTable
        Nearer than 1 m, where the law does not hold.

    Examples
    --------
    >>> round(level_at_dba(95, 50, 100)), round(level_at_dba(95, 50, 200))
    (89, 83)

    Source: Minnesota PCA, A Guide to Noise Control (2008), p. 5.
    """
    if to_m < NEAREST_M:
        raise OutsideTable("sound_rules", to_m, NEAREST_M, math.inf, "m")
    return level_dba - 20 * math.log10(to_m / at_m)


def sound_at(
    set_: GeneratorSet, distance_m: float, count: int = 1, barrier_db: float = 0.0
) -> float:
    """Sound of equal sets at a listener [dBA].

    L = L7 - 20 log10(d/7 m) + 10 log10(n) - barrier.

    Parameters
    ----------
    set_ : GeneratorSet
        Its level at 7 m [dBA].
    distance_m : float
        To the listener [m], 1 m or more.
    count : int
        Equal sets running, 1 or more.
    barrier_db : float
        What a barrier takes off [dB].

    Returns
    -------
    float
        Level [dBA].

    Raises
    ------
    OutsideTable
        Nearer than 1 m.

    Source: Minnesota PCA, A Guide to Noise Control (2008), p. 5.
    """
    single = level_at_dba(set_.sound_dba_7m, REFERENCE_M, distance_m)
    return single + 10 * math.log10(count) - barrier_db


def satisfying_distance_m(
    level_7m_dba: float, limit_dba: float, count: int = 1, barrier_db: float = 0.0
) -> float:
    """Distance at which the limit is met [m]: d = 7 m x 10^((L7 + 10 log10 n - b - limit)/20).

    Raises
    ------
    ValueError
        No set runs.
    """
    over_db = level_7m_dba + 10 * math.log10(count) - barrier_db - limit_dba
    return float(max(NEAREST_M, REFERENCE_M * 10 ** (over_db / 20)))


def satisfying_level_7m_dba(
    limit_dba: float, distance_m: float, count: int = 1, barrier_db: float = 0.0
) -> float:
    """Loudest set at 7 m that meets a limit [dBA].

    Raises
    ------
    OutsideTable
        Nearer than 1 m.
    """
    alone = level_at_dba(limit_dba, distance_m, REFERENCE_M) if distance_m >= NEAREST_M else None
    if alone is None:
        raise OutsideTable("sound_rules", distance_m, NEAREST_M, math.inf, "m")
    return alone - 10 * math.log10(count) + barrier_db
