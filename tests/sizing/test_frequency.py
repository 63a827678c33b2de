"""Chapter 5: the step an engine takes, and the frequency while it takes it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sizing.engine import (
    MOST_POINTS,
    Engine,
    engine_run,
    governor_gains,
    model_rules,
    rates,
    step_length_s,
)  # fmt: skip
from sizing.errors import TableRefused
from sizing.fleet import GeneratorSet
from sizing.frequency import (
    class_limits,
    engine_of,
    frequency_dip,
    step_percent,
    worst_frequency_dip,
)
from sizing.trace import Trace
from tests.sizing.electrical_cast import a_set, a_step

USUAL = Engine(inertia_s=1.25, governor_lag_s=0.2, turbo_lag_s=1.0, at_once=0.5)


def dip(kw: float, before: float = 0.0, set_: GeneratorSet | None = None) -> float:
    """Frequency dip of so many kW at once on top of so many."""
    return frequency_dip(a_step(kw, 1.0, complex(before)), set_ or a_set(), 60.0).percent


def test_the_step_is_the_larger_of_start_and_settled_power_over_the_site_rating() -> None:
    assert step_percent(a_step(100.0, 0.2), 50.0) == pytest.approx(40.0)
    assert step_percent(a_step(100.0, 0.2, settled_kw=30.0), 50.0) == pytest.approx(60.0)


def test_no_step_no_dip() -> None:
    found = frequency_dip(a_step(0.0, 1.0, 20 + 0j), a_set(), 60.0)
    assert found.percent == pytest.approx(0.0, abs=1e-9)
    assert found.recovery_s == 0.0


def test_a_usual_set_takes_the_step_of_its_record_within_its_class() -> None:
    found = frequency_dip(a_step(36.0, 1.0), a_set(), 60.0)
    assert found.step_percent == found.step_limit_percent == 60.0
    assert 8.0 < found.percent <= found.limit_percent == 10.0
    assert found.recovery_s <= found.recovery_limit_s == 5.0


def test_more_than_the_engine_has_never_recovers() -> None:
    found = frequency_dip(a_step(70.0, 1.0), a_set(), 60.0)
    assert found.recovery_s == model_rules().time_s > found.recovery_limit_s
    assert found.percent > 25.0


def test_a_site_that_takes_power_away_makes_every_step_larger() -> None:
    step = a_step(30.0, 1.0)
    high, low = (frequency_dip(step, a_set(), kw) for kw in (40.0, 60.0))
    assert high.step_percent > low.step_percent
    assert high.percent > low.percent


def test_what_worsens_the_dip() -> None:
    usual = dip(36.0)
    assert dip(36.0, set_=a_set(inertia_s=0.6)) > usual
    assert dip(36.0, set_=a_set(governor_lag_s=0.4)) > usual
    assert dip(36.0, set_=a_set(turbo_lag_s=2.0)) > usual
    assert dip(36.0, set_=a_set(naturally_aspirated_share=0.35)) > usual


def test_a_naturally_aspirated_engine_has_its_torque_at_once() -> None:
    assert engine_of(a_set(aspiration="naturally_aspirated"), 60.0).at_once == 1.0
    assert dip(36.0, set_=a_set(aspiration="naturally_aspirated")) < dip(36.0)


def test_the_curve_starts_at_rated_speed_and_reaches_the_deepest_point() -> None:
    found = frequency_dip(a_step(36.0, 1.0), a_set(), 60.0, points=True)
    times = [seconds for seconds, _ in found.points]
    assert found.points[0] == (0.0, 60.0)
    assert times == sorted(times)
    assert times[-1] == pytest.approx(15.0)
    assert len(times) <= 2 * MOST_POINTS
    assert min(hertz for _, hertz in found.points) == pytest.approx(
        60 * (1 - found.percent / 100), abs=0.02
    )
    assert found.points[-1][1] == pytest.approx(60.0, abs=0.01)


def test_without_points_the_figures_are_the_same() -> None:
    step = a_step(36.0, 1.0, 10 + 0j)
    short, long = (frequency_dip(step, a_set(), 60.0, points=p) for p in (False, True))
    assert short.points == ()
    assert (short.percent, short.recovery_s) == (long.percent, long.recovery_s)


def test_a_stalled_set_ends_its_curve_where_it_stalls() -> None:
    found = frequency_dip(a_step(90.0, 1.0), a_set(), 60.0, points=True)
    assert found.percent > 30.0
    assert found.points[-1][0] < 15.0
    assert found.recovery_s == 15.0


def test_load_before_the_step_beyond_the_rating_is_no_negative_step() -> None:
    assert frequency_dip(a_step(5.0, 1.0, 70 + 0j), a_set(), 60.0).recovery_s == 15.0


@pytest.mark.parametrize(
    ("name", "percent", "seconds"), [("G1", 15, 10), ("G2", 10, 5), ("G3", 7, 3)]
)
def test_the_classes(name: str, percent: float, seconds: float) -> None:
    limits = class_limits(name)
    assert (limits.dip_percent, limits.recovery_s) == (percent, seconds)


def test_an_unknown_class_is_refused() -> None:
    with pytest.raises(TableRefused):
        class_limits("G9")


def test_of_several_steps_the_one_nearest_its_limits_counts_with_the_largest_step() -> None:
    large, loaded = a_step(30.0, 1.0), a_step(25.0, 1.0, 36 + 0j)
    found = worst_frequency_dip((large, loaded), a_set(), 60.0)
    alone = frequency_dip(loaded, a_set(), 60.0)
    assert found.percent == alone.percent > frequency_dip(large, a_set(), 60.0).percent
    assert alone.step_percent < found.step_percent == pytest.approx(50.0)
    assert worst_frequency_dip((large,), a_set(), 60.0) == frequency_dip(large, a_set(), 60.0)


def test_a_governor_at_its_stop_does_not_wind_up() -> None:
    gains = governor_gains(USUAL)
    low = rates((0.8, 0.5, 0.5, 0.9), 0.8, USUAL, gains)
    high = rates((1.2, 0.1, 0.5, 0.0), 0.0, USUAL, gains)
    free = rates((0.99, 0.2, 0.5, 0.2), 0.3, USUAL, gains)
    assert low[3] == high[3] == 0.0
    assert free[3] > 0


def test_the_step_length_follows_the_shortest_lag() -> None:
    assert step_length_s(USUAL) == pytest.approx(0.04)
    assert step_length_s(Engine(1.0, 0.05, 1.0, 0.5)) == pytest.approx(0.01)


def test_half_the_step_length_changes_nothing_that_matters(monkeypatch: pytest.MonkeyPatch) -> None:
    coarse = engine_run(USUAL, 0.0, 0.6, 0.02)
    fine_rules = model_rules()._replace(steps_per_lag=10.0, longest_step_s=0.02)
    monkeypatch.setattr("sizing.engine.model_rules", lambda: fine_rules)
    fine = engine_run(USUAL, 0.0, 0.6, 0.02)
    assert 100 * abs(coarse.lowest - fine.lowest) < 0.05
    assert coarse.recovery_s == pytest.approx(fine.recovery_s, abs=0.06)


def test_the_trace_shows_step_and_lowest_frequency() -> None:
    trace = Trace()
    found = frequency_dip(a_step(36.0, 1.0, 5 + 0j), a_set(), 60.0, trace)
    assert "36.00 kW / 60.0 kW = 60.0 % against 60 %" in trace.lines[0].line
    assert "H = 1.00 s x 75.0 kVA / 60.0 kW = 1.25 s" in trace.lines[1].line
    assert f"{found.percent:.1f} % against 10 %" in trace.lines[2].line
    assert all(line.source for line in trace.lines)


@settings(max_examples=40)
@given(st.floats(0, 0.9), st.floats(0, 0.9), st.floats(0.4, 3), st.floats(0.05, 0.4))
def test_a_larger_step_never_dips_less(one: float, other: float, h: float, lag: float) -> None:
    engine = Engine(h, lag, 1.0, 0.6)
    small, large = (engine_run(engine, 0.0, step, 0.02).lowest for step in sorted((one, other)))
    assert large <= small + 1e-3 or large < model_rules().stall_speed
