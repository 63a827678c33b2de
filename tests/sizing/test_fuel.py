"""Fuel, tank and refuelling."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.errors import OutsideTable
from sizing.fuel import (
    burn_l_h,
    fuel_plan,
    fuel_points,
    light_hours_share,
    mean_load_percent,
)
from sizing.refuelling import (
    autonomy_h,
    burnt_l,
    hire_days,
    planned_interval_h,
    refuel_dates,
    visits,
)
from sizing.requirement import Hire, known
from sizing.trace import Trace
from tests.sizing.site_jobs import JUNE, SET, job, profile

LEVELS = st.lists(st.tuples(st.floats(0, 60), st.floats(0.1, 6)), min_size=1, max_size=4)
BURNS = st.lists(st.tuples(st.floats(0.5, 30), st.floats(0.1, 6)), min_size=1, max_size=4)


def day_l(burns):
    return sum(burn * hours for burn, hours in burns)


@pytest.mark.parametrize(
    ("kw", "litres"), [(15, 6.8), (30, 11.0), (45, 14.4), (60, 18.2), (22.5, 8.9), (52.5, 16.3)]
)
def test_burn_meets_the_points_and_the_middle_between_them(kw, litres):
    assert burn_l_h(SET, kw) == pytest.approx(litres)


def test_idle_is_the_first_line_carried_on_and_overload_the_last():
    assert burn_l_h(SET, 0) == pytest.approx(2 * 6.8 - 11.0)
    assert burn_l_h(SET, 66) == pytest.approx(18.2 + 0.4 * 3.8)


@given(st.floats(0, 66), st.floats(0, 66))
def test_more_load_never_burns_less(some, more):
    low, high = sorted((some, more))
    assert burn_l_h(SET, low) <= burn_l_h(SET, high) + 1e-9


def test_a_set_without_points_takes_those_of_the_chart_between_its_rows():
    plain = replace(SET, prime_kw=110.0, fuel_l_h=(0, 0, 0, 0))
    assert fuel_points(plain)[3] == pytest.approx(28.0 + 0.4 * 6.4)
    with pytest.raises(OutsideTable, match="fuel_chart"):
        burn_l_h(replace(plain, prime_kw=15.0), 10)


@given(LEVELS, st.floats(20, 100))
def test_the_mean_is_never_under_thirty_percent(levels, rating):
    assert mean_load_percent(levels, rating) >= 30 - 1e-9


def test_nothing_running_has_no_mean_and_no_light_hours():
    assert mean_load_percent([], 50) == 0
    assert light_hours_share(profile(), 50) == 0


def test_light_hours_count_against_the_site_rating():
    mixed = profile((30, 6), (10, 18))
    assert light_hours_share(mixed, 60) == pytest.approx(0.75)
    assert light_hours_share(mixed, 30) == 0


@given(BURNS, st.floats(0, 2000), st.floats(0, 2000))
def test_a_larger_tank_never_lasts_shorter(burns, some, more):
    low, high = sorted((some, more))
    total = day_l(burns)
    assert autonomy_h(low, burns, total) <= autonomy_h(high, burns, total) + 1e-6


@given(BURNS, st.floats(0, 24 * 30))
def test_the_tank_that_holds_an_interval_lasts_it(burns, hours):
    total = day_l(burns)
    needed = burnt_l(burns, total, hours)
    assert burnt_l(burns, total, autonomy_h(needed, burns, total)) == pytest.approx(
        needed, rel=1e-6, abs=1e-6
    )


def test_the_busiest_hours_come_first():
    burns = [(2.0, 14.0), (10.0, 10.0)]
    assert autonomy_h(50, burns, 128) == pytest.approx(5.0)
    assert autonomy_h(102, burns, 128) == pytest.approx(11.0)
    assert autonomy_h(128 + 50, burns, 128) == pytest.approx(29.0)


def test_a_tank_of_just_a_day_lasts_the_day_and_a_still_set_for_ever():
    assert autonomy_h(128, [(2.0, 14.0), (10.0, 10.0)], 128) == 24
    assert math.isinf(autonomy_h(100, [], 0))
    assert planned_interval_h(24, math.inf) == 24


def test_rounding_at_the_end_of_the_day_neither_loops_nor_loses_hours():
    burns = [(0.1, 10.0), (0.2, 10.0)]
    assert autonomy_h(3.0 - 1e-12, burns, 3.0) in (pytest.approx(20), pytest.approx(24))
    assert autonomy_h(2.9999, burns, 3.0000001) == pytest.approx(20, abs=0.01)


def test_the_truck_comes_at_the_longest_multiple_the_tank_covers():
    assert planned_interval_h(24, 55) == 48
    assert planned_interval_h(24, 72) == 72
    assert planned_interval_h(24, 20) == 24


def test_a_hire_counts_both_days_and_its_last_visit_is_not_at_its_end():
    assert hire_days(JUNE) == 14
    assert hire_days(None) == 0
    assert visits(JUNE, 24) == 13
    assert visits(JUNE, 48) == 6
    assert visits(None, 24) == 0


@given(st.integers(1, 400), st.sampled_from([6.0, 12.0, 24.0, 48.0, 168.0]))
def test_there_is_a_date_for_every_visit_within_the_hire(days, every):
    hire = Hire(date(2027, 1, 1), date.fromordinal(date(2027, 1, 1).toordinal() + days - 1))
    dates = refuel_dates(hire, every)
    assert len(dates) == visits(hire, every)
    assert all(hire.start <= day <= hire.end for day in dates)


def test_a_tank_too_small_asks_for_an_auxiliary_tank_of_the_missing_litres():
    requirement, _ = job("other", refuel_every_h=known(48.0))
    plan = fuel_plan(SET, profile((45, 24)), requirement, 60)
    assert plan.needs_auxiliary_tank
    assert plan.refuel_every_h == 48
    assert plan.extra_tank_l == pytest.approx(2 * 24 * 14.4 - 360)


def test_a_tank_large_enough_asks_for_none():
    requirement, _ = job("other")
    plan = fuel_plan(SET, profile((45, 24)), requirement, 60)
    assert (plan.needs_auxiliary_tank, plan.extra_tank_l) == (False, 0)
    assert plan.autonomy_h == pytest.approx(360 / 14.4)
    assert (plan.refuel_every_h, plan.refuel_visits) == (24, 13)
    assert plan.hire_l == pytest.approx(14 * 24 * 14.4)


@given(LEVELS)
def test_the_extra_tank_makes_the_interval(levels):
    requirement, _ = job("other", refuel_every_h=known(72.0))
    plan = fuel_plan(SET, profile(*levels), requirement, 60)
    larger = replace(SET, tank_l=SET.tank_l + plan.extra_tank_l / SET.usable_tank_fraction)
    assert not fuel_plan(
        replace(larger, tank_l=larger.tank_l + 1e-6), profile(*levels), requirement, 60
    ).needs_auxiliary_tank


@pytest.mark.parametrize(
    ("points", "source"),
    [((6.8, 11.0, 14.4, 18.2), "the set's record"), ((0.0,) * 4, "Approximate diesel fuel")],
)
def test_the_trace_adds_up_and_names_where_the_points_are_from(points, source):
    trace, own = Trace(), replace(SET, fuel_l_h=points)
    requirement, _ = job("other")
    plan = fuel_plan(own, profile((45, 10), (20, 14)), requirement, 60, trace)
    lines = [line.line for line in trace.lines]
    litres = [float(line.split("=")[1].split()[0]) for line in lines[:2]]
    assert sum(litres) == pytest.approx(plan.l_per_day, abs=0.11)
    assert trace.lines[0].source.startswith(source)
    assert "Exhaust fluid" in lines[-1]
