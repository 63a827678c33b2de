"""The engine in time against a solver with error control, closed forms and a tender clause."""

from __future__ import annotations

import numpy
import pytest
from scipy.integrate import solve_ivp
from scipy.signal import TransferFunction, step

from sizing.engine import Engine, engine_run, governor_gains, model_rules, rates
from sizing.fleet import GeneratorSet
from sizing.frequency import frequency_dip
from sizing.step import Step

ENGINES = {
    "usual": Engine(1.25, 0.2, 1.0, 0.5),
    "quick": Engine(0.75, 0.1, 0.8, 0.5),
    "slow": Engine(2.5, 0.3, 2.0, 0.4),
    "naturally aspirated": Engine(1.25, 0.2, 1.0, 1.0),
}


def usual_set() -> GeneratorSet:
    return GeneratorSet("S", "S", 60.0, 75.0, ("480Y/277",), 0.25)


def resistive(kw: float, before_kw: float) -> Step:
    return Step("s", (0,), (), kw, kw, 1.0, before_kw, before_kw, kw, None, ())


@pytest.mark.parametrize("engine", ENGINES.values(), ids=ENGINES)
@pytest.mark.parametrize(
    ("before", "after"), [(0.0, 0.3), (0.0, 0.5), (0.0, 0.6), (0.3, 0.8), (0.5, 0.9)]
)
def test_against_a_solver_with_error_control(engine: Engine, before: float, after: float) -> None:
    """scipy.integrate.solve_ivp (RK23, relative error 1e-4; a finer one
    creeps along the governor's stops): lowest speed within 0.05 points,
    the curve within 0.2 points, unless both find that the set stalls."""
    gains, stall = governor_gains(engine), model_rules().stall_speed

    def stalled(_: float, state: numpy.ndarray) -> float:
        return float(state[0] - stall)

    stalled.terminal = True  # type: ignore[attr-defined]
    seen = solve_ivp(
        lambda _, state: rates(tuple(state), after, engine, gains), (0.0, 15.0),
        [1.0, before, before, before], method="RK23", rtol=1e-4, atol=1e-6, max_step=0.05,
        events=stalled, dense_output=True,
    )  # fmt: skip
    mine = engine_run(engine, before, after, 0.02, points=True)
    assert (mine.lowest < stall) == (len(seen.t_events[0]) > 0)
    if mine.lowest >= stall:
        assert 100 * mine.lowest == pytest.approx(100 * seen.y[0].min(), abs=0.05)
        times, speeds = zip(*mine.points, strict=True)
        apart = seen.sol(numpy.array(times))[0] - numpy.array(speeds)
        assert 100 * abs(apart).max() < 0.2


@pytest.mark.parametrize("engine", [ENGINES["usual"], ENGINES["quick"], ENGINES["slow"]])
def test_a_small_step_against_the_linear_transfer_function(engine: Engine) -> None:
    """scipy.signal: while no stop is touched, speed over load is
    -(T s^2 + s) / (2 H T s^3 + 2 H s^2 + Kp s + Ki)."""
    gains, size = governor_gains(engine), 0.1
    h2, lag = 2 * engine.inertia_s, engine.governor_lag_s
    system = TransferFunction([-lag, -1, 0], [h2 * lag, h2, gains.proportional, gains.integral])
    times = numpy.linspace(0, 10, 4001)
    lowest = 1 + size * step(system, T=times)[1].min()
    mine = engine_run(engine, 0.3, 0.3 + size, 0.02)
    assert 100 * mine.lowest == pytest.approx(100 * lowest, abs=0.02)


def test_the_first_fall_of_frequency_is_the_swing_equation_s() -> None:
    """df/dt = -f0 dP / (2 H): 0.4 pu on H = 1.25 s falls by 9.6 Hz/s at first."""
    found = frequency_dip(resistive(24.0, 0.0), usual_set(), 60.0, points=True)
    (_, before), (seconds, after) = found.points[:2]
    assert (after - before) / seconds == pytest.approx(-60 * 0.4 / 2.5, rel=0.1)


def test_inertia_alone_falls_in_a_straight_line() -> None:
    """Closed form with a governor that does nothing in time: w = 1 - dP t / (2 H)."""
    lazy = Engine(5.0, 1e6, 1e6, 0.5)
    run = engine_run(lazy, 0.0, 0.1, 0.02, points=True)
    assert run.points[-1][1] == pytest.approx(1 - 0.1 * 15 / 10, rel=1e-3)


@pytest.mark.parametrize(
    ("from_share", "to_share", "passes"), [(0.0, 0.5, True), (0.5, 0.8, True), (0.0, 1.0, False)]
)
def test_the_steps_of_a_class_g2_set(from_share: float, to_share: float, passes: bool) -> None:
    """Three-step acceptance of a G2 set in a public-works tender clause (read): 0 to 50, 50 to 80,
    80 to 100 % of rating. The usual engine takes the first two within 10 % and 5 s, and not all at
    once; the last step, to full torque, leaves a constant torque no margin and is not simulated."""
    step_ = resistive(60 * (to_share - from_share), 60 * from_share)
    found = frequency_dip(step_, usual_set(), 60.0)
    kept = found.percent <= found.limit_percent and found.recovery_s <= found.recovery_limit_s
    assert kept is passes
