"""Chapter 11: sound of the set at the listener, and what would satisfy the limit."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache

from sizing.check import Check
from sizing.errors import OutsideTable
from sizing.finding import Finding, Severity
from sizing.fleet import GeneratorSet
from sizing.requirement import Site
from sizing.tables import table
from sizing.trace import Trace

NEAREST_M = 1.0  # closer, the set is no point source


@lru_cache(maxsize=1)
def reference_m() -> float:
    """Distance at which a set's level is stated [m]: 7 m.

    Returns
    -------
    float
        7 [m]

    Raises
    ------
    TableRefused
        The table is damaged.

    Source: common practice, no source.
    """
    return float(table("sound_rules").at("value", "reference_distance"))


def sum_levels_dba(levels_dba: Iterable[float]) -> float:
    """Level of several sources together [dBA].

    L = 10 log10(sum 10^(Li/10)).

    Parameters
    ----------
    levels_dba : iterable of float, shape (n,)
        Level of each source at the listener, at least one [dBA]

    Returns
    -------
    float
        Level [dBA]

    Raises
    ------
    ValueError
        No level is given.

    Examples
    --------
    >>> [round(sum_levels_dba([50.0] * n)) for n in (2, 4, 8)]
    [53, 56, 59]

    Source: FHWA noise barrier handbook, chapter 3; Minnesota PCA guide (2008), p. 5.
    """
    return 10 * math.log10(sum(10 ** (level / 10) for level in levels_dba))


def level_at_dba(level_dba: float, at_m: float, to_m: float) -> float:
    """Level of a point source at another distance [dBA].

    L2 = L1 - 20 log10(r2/r1): 6 dB a doubling.

    Parameters
    ----------
    level_dba : float
        Level at ``at_m`` [dBA]
    at_m, to_m : float
        Distances from the source, ``to_m`` 1 m or more [m]

    Returns
    -------
    float
        Level [dBA]

    Raises
    ------
    OutsideTable
        Nearer than 1 m, where the law does not hold.

    Notes
    -----
    Hard open ground: soft ground takes up to 1.5 dB more a doubling, a wall behind the set gives
    up to 3 dB back.

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
        Its level at 7 m [dBA]
    distance_m : float
        To the listener, 1 m or more [m]
    count : int
        Equal sets running, 1 or more [-]
    barrier_db : float
        What a barrier takes off, 0 or more [dB]

    Returns
    -------
    float
        Level [dBA]

    Raises
    ------
    OutsideTable
        Nearer than 1 m.

    Source: Minnesota PCA, A Guide to Noise Control (2008), p. 5.
    """
    alone = level_at_dba(set_.sound_dba_7m, reference_m(), distance_m)
    return alone + 10 * math.log10(count) - barrier_db


def satisfying_distance_m(
    level_7m_dba: float, limit_dba: float, count: int = 1, barrier_db: float = 0.0
) -> float:
    """Least distance at which a limit is met [m].

    d = 7 m x 10^((L7 + 10 log10 n - barrier - limit)/20), 1 m at least.

    Parameters
    ----------
    level_7m_dba : float
        Level of one set at 7 m [dBA]
    limit_dba : float
        Limit at the listener [dBA]
    count : int
        Equal sets running, 1 or more [-]
    barrier_db : float
        What a barrier takes off, 0 or more [dB]

    Returns
    -------
    float
        Distance [m]

    Raises
    ------
    ValueError
        No set runs.

    Examples
    --------
    70 dBA at 23 ft, limit 55 dBA, in feet:

    >>> round(satisfying_distance_m(70, 55) / 7 * 23)
    129

    Source: the distance law solved for the distance.
    """
    over_db = level_7m_dba + 10 * math.log10(count) - barrier_db - limit_dba
    return max(NEAREST_M, float(reference_m() * 10 ** (over_db / 20)))


def satisfying_level_7m_dba(
    limit_dba: float, distance_m: float, count: int = 1, barrier_db: float = 0.0
) -> float:
    """Loudest set, by its level at 7 m, that meets a limit [dBA].

    L7 = limit + 20 log10(d/7 m) - 10 log10 n + barrier.

    Parameters
    ----------
    limit_dba : float
        Limit at the listener [dBA]
    distance_m : float
        To the listener, 1 m or more [m]
    count : int
        Equal sets running, 1 or more [-]
    barrier_db : float
        What a barrier takes off, 0 or more [dB]

    Returns
    -------
    float
        Level of one set at 7 m [dBA]

    Raises
    ------
    OutsideTable
        Nearer than 1 m.

    Source: the distance law solved for the level.
    """
    fall_db = -level_at_dba(0.0, reference_m(), distance_m)
    return limit_dba + fall_db - 10 * math.log10(count) + barrier_db


def sound_check(
    set_: GeneratorSet, site: Site, count: int = 1, trace: Trace | None = None
) -> tuple[Check | None, list[Finding]]:
    """Check of the sound at the listener, and what would satisfy the limit where it fails.

    Parameters
    ----------
    set_ : GeneratorSet
        Its level at 7 m [dBA]
    site : Site
        Limit [dBA], distance [m] and barrier [dB]; without a limit there is no check
    count : int
        Equal sets running, 1 or more [-]
    trace : Trace or None
        Takes the line where given [-]

    Returns
    -------
    Check or None
        Limit against level [dBA]
    list of Finding
        ``noise_limit`` with the distance, the quieter set or the barrier that would do;
        ``outside_table`` where the listener is too near for the law [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Notes
    -----
    A limit without a distance is checked at the 7 m at which sets are rated, and said so. The
    listener's other noise is left out; it must be 10 dB lower not to count.

    Source: Minnesota PCA, A Guide to Noise Control (2008), p. 5.
    """
    if site.noise_limit_dba is None:
        return None, []
    distance_m, findings = _listener(site)
    if distance_m < NEAREST_M:
        return None, [_too_near(distance_m)]
    level = sound_at(set_, distance_m, count, site.barrier_db)
    source = str(table("sound_rules").at("source", "per_doubling"))
    passed = level <= site.noise_limit_dba + 1e-9
    if trace:
        _write(trace, set_, distance_m, count, site.barrier_db, level, source)
    if not passed:
        findings.append(_too_loud(set_, site.noise_limit_dba, distance_m, count, site.barrier_db))
    return Check("sound", site.noise_limit_dba, level, "dBA", passed, source), findings


def _listener(site: Site) -> tuple[float, list[Finding]]:
    """Distance to the listener, and a note where it is taken as 7 m."""
    if site.noise_distance_m is not None:
        return site.noise_distance_m, []
    detail = "No distance goes with the noise limit: it is checked at 7 m (23 ft) from the set."
    ask = "How far from the set does the noise limit hold?"
    note = Finding("noise_distance_assumed", Severity.NOTE, "site.noise_distance", detail, ask)
    return reference_m(), [note]


def _too_near(distance_m: float) -> Finding:
    detail = f"At {distance_m:g} m the sound of a set cannot be told from its level at 7 m."
    ask = "Where would the nearest listener be, and is a set that close wanted?"
    return Finding(
        "outside_table", Severity.NEEDS_PERSON, "site.noise_distance", detail, ask,
        {"noise_distance_m": distance_m},
    )  # fmt: skip


def _too_loud(
    set_: GeneratorSet, limit_dba: float, distance_m: float, count: int, barrier_db: float
) -> Finding:
    """Finding with the three ways out: farther away, a quieter set, a barrier."""
    far_m = satisfying_distance_m(set_.sound_dba_7m, limit_dba, count, barrier_db)
    quiet = satisfying_level_7m_dba(limit_dba, distance_m, count, barrier_db)
    over_db = sound_at(set_, distance_m, count, barrier_db) - limit_dba
    detail = (
        f"At {distance_m:.0f} m the set is {over_db:.1f} dB over the limit of {limit_dba:g} dBA. "
        f"{_ways_out(far_m, quiet, over_db, barrier_db)}"
    )
    evidence = {"distance_m": far_m, "level_7m_dba": quiet, "over_db": over_db}
    ask = "Can the set stand farther away, or is there a wall or screen between?"
    return Finding("noise_limit", Severity.WARNING, "site.noise_limit", detail, ask, evidence)


def _ways_out(far_m: float, quiet_dba: float, over_db: float, barrier_db: float) -> str:
    """The ways out in words; a barrier only as far as barriers reach."""
    most_db = float(table("sound_rules").at("value", "barrier_most"))
    ways = [f"{far_m:.0f} m away", f"a set of {quiet_dba:.1f} dBA at 7 m"]
    if barrier_db + over_db <= most_db:
        ways.append(f"a barrier of {over_db + barrier_db:.1f} dB")
    return f"It would hold {', or with '.join(ways)}."


def _write(
    trace: Trace, set_: GeneratorSet, distance_m: float, count: int, barrier_db: float,
    level: float, source: str,
) -> None:  # fmt: skip
    line = f"L = {set_.sound_dba_7m:g} - 20 log10({distance_m:.1f} / {reference_m():g})"
    line = f"{line} + 10 log10({count}) - {barrier_db:g} = {level:.1f} dBA"
    trace.add("around", line, source)
