"""Chapter 5, underneath: engine, governor and turbocharger in time, a few states, fixed steps."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

from sizing.tables import table

State = tuple[float, float, float, float]  # speed, torque, boost, integral of the governor
MOST_POINTS = 400


class Engine(NamedTuple):
    """An engine per unit of its site rating and rated speed.

    ``at_once`` is the share of rated torque that is there without boost.
    """

    inertia_s: float  # H, stored energy over site rating
    governor_lag_s: float
    turbo_lag_s: float
    at_once: float


class Gains(NamedTuple):
    """Proportional [-] and integral [1/s] gain of the governor."""

    proportional: float
    integral: float


class Run(NamedTuple):
    """What came of a step: lowest speed, time to recover, and the curve where wanted."""

    lowest: float
    recovery_s: float
    points: tuple[tuple[float, float], ...]


class Rules(NamedTuple):
    """Figures of the model that no set's record holds."""

    damping: float
    reset: float
    time_s: float
    steps_per_lag: float
    longest_step_s: float
    settled_for_s: float
    stall_speed: float


@lru_cache(maxsize=1)
def model_rules() -> Rules:
    """Return the figures of the model from ``step_rules``."""
    names = (
        "governor_damping", "governor_reset", "simulated_time", "steps_per_lag", "longest_step",
        "settled_for", "stall_speed",
    )  # fmt: skip
    return Rules(*(table("step_rules").at("value", name) for name in names))


def governor_gains(engine: Engine) -> Gains:
    """Return the gains of a governor that is well tuned for its engine.

    Equation: Kp = 2 H / (4 zeta^2 T), Ki = Kp / (r 2 zeta T).

    Parameters
    ----------
    engine : Engine
        Inertia H and governor lag T, both above 0 [s]

    Returns
    -------
    Gains
        Kp [-] and Ki [1/s]

    Raises
    ------
    ZeroDivisionError
        The lag is 0.

    Notes
    -----
    The loop of inertia 2 H s and lag 1 + T s under a gain Kp has the damping ratio
    zeta = sqrt(2 H / (4 Kp T)). The reset r keeps the integral slower than that loop, with which
    the third-order loop is stable for every H and T (Routh: r > 1 / (2 zeta)).

    Source: control theory; damping and reset chosen (step_rules).

    Examples
    --------
    H = 1 s and T = 0.2 s give Kp = 5.10.
    """
    rules = model_rules()
    proportional = 2 * engine.inertia_s / (4 * rules.damping**2 * engine.governor_lag_s)
    reset_s = rules.reset * 2 * rules.damping * engine.governor_lag_s
    return Gains(proportional, proportional / reset_s)


def rates(state: State, load: float, engine: Engine, gains: Gains) -> State:
    """Return how fast the states change.

    Equation: 2 H dw/dt = m - p; T dm/dt = min(u, c) - m with u = Kp (1 - w) + z within 0 to 1
    and c = a + (1 - a) b; Tb db/dt = m - b; dz/dt = Ki (1 - w) while u is not at a stop.

    Parameters
    ----------
    state : tuple of float
        Speed w, torque m, boost b, integral z [pu]
    load : float
        Electrical load p [pu of site rating]
    engine : Engine
        Inertia H, lags T and Tb, share a [s, -]
    gains : Gains
        Kp and Ki [-, 1/s]

    Returns
    -------
    tuple of float
        Rates of the four states [1/s]

    Raises
    ------
    ZeroDivisionError
        A lag or the inertia is 0.

    Notes
    -----
    The load holds its torque, so its power falls in proportion to speed: between a heater behind
    a regulator (none) and pumps and fans (with the cube).

    Source: swing equation and first-order lags of a diesel set, as in models of small isolated
    grids (speed governor with integral gain, actuator and engine each a lag).
    """
    speed, torque, boost, integral = state
    proportional, integral_gain = gains
    at_once, short = engine.at_once, 1 - speed
    wanted = proportional * short + integral
    held = 0.0 if boost < 0 else boost if boost < 1 else 1.0
    ceiling = at_once + (1 - at_once) * held
    fuel = 0.0 if wanted < 0 else wanted if wanted < ceiling else ceiling
    resting = (wanted > fuel and short > 0) or (wanted < fuel and short < 0)
    return (
        (torque - load) / (2 * engine.inertia_s),
        (fuel - torque) / engine.governor_lag_s,
        (torque - boost) / engine.turbo_lag_s,
        0.0 if resting else integral_gain * short,
    )


def step_length_s(engine: Engine) -> float:
    """Return the integration step: a share of the shortest lag, at most the longest step [s]."""
    rules = model_rules()
    lag = min(engine.governor_lag_s, engine.turbo_lag_s, engine.inertia_s)
    return min(rules.longest_step_s, lag / rules.steps_per_lag)


@lru_cache(maxsize=4096)
def engine_run(
    engine: Engine, before: float, after: float, band: float, points: bool = False
) -> Run:
    """Return what a step of load does to the speed.

    Equation: the second-order Runge-Kutta rule of Heun on `rates`.

    Parameters
    ----------
    engine : Engine
        Per unit of the site rating [s, -]
    before : float
        Load before the step, 0 to 1 [pu]
    after : float
        Load from the step on [pu]
    band : float
        Recovery is the last time the speed leaves 1 +/- band [pu]
    points : bool
        Whether the curve is wanted, over the whole time [-]

    Returns
    -------
    Run
        Lowest speed [pu], recovery [s], curve [(s, pu)]

    Raises
    ------
    ZeroDivisionError
        A lag is 0.

    Notes
    -----
    Deterministic: fixed steps of a fifth of the shortest lag, 40 ms at most. Over lags of 0.05 to
    1.5 s and H of 0.4 to 2.5 s the lowest speed then is within 0.03 points of steps twelve times
    finer, far inside the doubt of the lags. A set that falls under the stall speed, or that
    carries more than its torque at rated speed, does not recover: the whole simulated time is
    given as recovery. Without ``points`` the run ends once speed and torque have come to rest.

    Source: numerical analysis; compared with a solver with error control in the tests.
    """
    rules, gains, length = model_rules(), governor_gains(engine), step_length_s(engine)
    before = min(before, 1.0)
    state: State = (1.0, before, before, before)
    lowest, recovered, quiet = 1.0, 0.0, 0.0
    curve = [(0.0, 1.0)]
    count = math.ceil(rules.time_s / length)
    for number in range(1, count + 1):
        state = _heun(state, after, engine, gains, length)
        speed = state[0]
        lowest = min(lowest, speed)
        if speed < rules.stall_speed:
            recovered = rules.time_s
            curve.append((number * length, speed))
            break
        if abs(speed - 1) > band:
            recovered = number * length
        if points:
            curve.append((number * length, speed))
            continue
        at_rest = abs(speed - 1) < band / 4 and abs(state[1] - after) < band / 4
        quiet = quiet + length if at_rest else 0.0
        if quiet >= rules.settled_for_s:
            break
    recovery_s = min(recovered, rules.time_s)
    return Run(lowest, recovery_s, _thinned(curve) if points else ())


def _heun(state: State, load: float, engine: Engine, gains: Gains, length: float) -> State:
    speed, torque, boost, integral = state
    a, b, c, d = rates(state, load, engine, gains)
    ahead = (speed + length * a, torque + length * b, boost + length * c, integral + length * d)
    e, f, g, h = rates(ahead, load, engine, gains)
    half = length / 2
    return (
        speed + half * (a + e), torque + half * (b + f),
        boost + half * (c + g), integral + half * (d + h),
    )  # fmt: skip


def _thinned(curve: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Every n-th point, so that a drawing stays small; the first and the last stay."""
    stride = max(1, len(curve) // MOST_POINTS)
    kept = curve[::stride]
    return tuple(kept if kept[-1] == curve[-1] else [*kept, curve[-1]])
