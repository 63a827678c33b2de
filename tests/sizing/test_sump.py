"""Pumps on float switches: cycles, starts, allowances."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.errors import OutsideTable
from sizing.pump_power import implied_head_m, rate_is_plausible, shaft_hp
from sizing.requirement import Sump
from sizing.sump import (
    cycle_time_s,
    motor_starts,
    needed_volume_l,
    poles_of,
    pump_duty,
    start_allowance,
    starts_at,
    worst_cycle_s,
)

RATES = st.floats(0.1, 500)
VOLUMES = st.floats(10, 100_000)


@given(VOLUMES, RATES, st.floats(0.01, 0.99))
def test_no_inflow_cycles_faster_than_half_the_pump_rate(v, d, share):
    assert cycle_time_s(v, d, share * d) >= worst_cycle_s(v, d) * (1 - 1e-9)


@given(VOLUMES, RATES, st.floats(0.01, 0.49))
def test_filling_and_emptying_change_places_about_half_the_rate(v, d, share):
    below, above = cycle_time_s(v, d, share * d), cycle_time_s(v, d, (1 - share) * d)
    assert below == pytest.approx(above, rel=1e-6)


@given(RATES, st.floats(60, 3600), st.integers(1, 4))
def test_the_needed_volume_gives_just_the_wanted_cycle(d, cycle_s, pumps):
    volume = needed_volume_l(d, cycle_s, pumps)
    assert worst_cycle_s(volume, d) * pumps == pytest.approx(cycle_s)


@pytest.mark.parametrize("inflow", [0.0, 10.0, 12.0])
def test_a_pump_never_cycles_without_inflow_or_when_it_cannot_keep_up(inflow):
    assert math.isinf(cycle_time_s(1000, 10, inflow))


@pytest.mark.parametrize(
    ("rpm", "poles"), [(3450, 2), (1750, 4), (1160, 6), (875, 8), (3600, 2), (4000, 2), (None, 2)]
)
def test_poles_follow_the_stamped_speed(rpm, poles):
    assert poles_of(rpm) == poles


def test_the_wet_well_rule_wins_where_it_allows_less():
    assert start_allowance(15, 4).basis == "wet_well_cycle"
    assert start_allowance(15, 4).starts_per_hour == 6.0
    assert start_allowance(15, 2).basis == "motor_starts"
    assert start_allowance(15, 2).starts_per_hour == 5.4


def test_a_motor_between_two_rows_takes_the_larger_and_eight_poles_count_as_six():
    assert motor_starts(17, 4) == motor_starts(20, 4)
    assert motor_starts(15, 8) == motor_starts(15, 6)


def test_a_heavy_load_allows_fewer_starts_than_a_light_one():
    assert motor_starts(25, 4, 1.0).starts_per_hour == 8.8
    assert motor_starts(25, 4, 500.0).starts_per_hour < 1


def test_a_motor_above_the_table_is_left_to_a_person():
    with pytest.raises(OutsideTable, match="250"):
        start_allowance(300, 4)


def test_without_any_figure_all_pumps_run_all_the_time():
    duty = pump_duty(None, 2)
    assert (duty.through, duty.duty, duty.worst_starts_per_hour) == (2, 0.0, None)
    assert "all the time" in duty.assumed
    assert not duty.overrun


def test_starts_are_judged_at_the_worst_inflow_even_if_none_is_given():
    duty = pump_duty(Sump(pump_rate_l_s=10, active_volume_l=1500), 1)
    assert duty.worst_starts_per_hour == pytest.approx(6.0)
    assert duty.through == 1


def test_a_missing_volume_is_taken_just_large_enough_and_said():
    duty = pump_duty(Sump(inflow_l_s=5, pump_rate_l_s=10), 1, cycle_s=600)
    assert duty.volume_l == pytest.approx(1500)
    assert duty.starts_per_hour == pytest.approx(6.0)
    assert "1500 L" in duty.assumed


def test_a_missing_volume_without_an_allowance_leaves_starts_open():
    duty = pump_duty(Sump(inflow_l_s=5, pump_rate_l_s=10), 1)
    assert (duty.volume_l, duty.starts_per_hour, duty.worst_starts_per_hour) == (None, 0.0, None)
    assert starts_at(None, 10, 0.5) == 0.0


def test_two_pumps_in_turn_start_half_as_often_each():
    sump = Sump(5, 10, 1500)
    alone = pump_duty(sump, 2).worst_starts_per_hour
    turning = pump_duty(Sump(5, 10, 1500, alternating=True), 2).worst_starts_per_hour
    assert turning == pytest.approx(alone / 2)


@pytest.mark.parametrize(
    ("inflow", "pumps", "through", "duty", "overrun"),
    [
        (5, 1, 0, 0.5, False),
        (15, 2, 1, 0.5, False),
        (10, 1, 1, 0.0, True),
        (25, 2, 2, 0.0, True),
        (0, 1, 0, 0.0, False),
    ],
)
def test_whole_pumps_run_through_and_the_next_takes_the_rest(inflow, pumps, through, duty, overrun):
    found = pump_duty(Sump(inflow, 10, 1000), pumps)
    assert (found.through, found.duty, found.overrun) == (through, pytest.approx(duty), overrun)


@given(st.floats(0, 100), RATES, st.integers(1, 5))
def test_the_pumps_move_the_inflow_as_far_as_they_can(inflow, rate, pumps):
    duty = pump_duty(Sump(inflow, rate, 1000), pumps)
    moved = (duty.through + duty.duty) * rate
    assert moved == pytest.approx(min(inflow, pumps * rate), abs=1e-6)


def test_a_rate_in_the_wrong_unit_shows_as_an_impossible_head():
    assert rate_is_plausible(15, 12.6)
    assert not rate_is_plausible(15, 12.6 * 100)
    assert not rate_is_plausible(15, 12.6 / 60)


@given(st.floats(1, 250), RATES)
def test_the_implied_head_takes_just_the_motor(hp, flow):
    assert shaft_hp(flow, implied_head_m(hp, flow)) == pytest.approx(hp)


def test_a_better_pump_takes_less_power_and_mud_takes_more():
    assert shaft_hp(10, 20, efficiency=0.8) < shaft_hp(10, 20)
    assert shaft_hp(10, 20, 1.3) == pytest.approx(1.3 * shaft_hp(10, 20))
