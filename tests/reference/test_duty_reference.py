"""Chapter 9 against published rules: pump cycles, motor starts, mean power, receptacle loads."""

from __future__ import annotations

import pytest

from sizing.conversions import FOOT_M, GALLON_L
from sizing.duty import duty_profile
from sizing.fuel import light_hours_share, light_share, mean_load_percent
from sizing.pump_power import shaft_hp, water_hp
from sizing.requirement import Sump
from sizing.sump import (
    cycle_time_s,
    motor_starts,
    needed_volume_l,
    pump_duty,
    start_allowance,
    worst_cycle_s,
)
from sizing.tables import table
from sizing.trailer import receptacle_demand_va, receptacle_load_va
from tests.sizing.site_jobs import job, profile, pump

GPM_L_S = GALLON_L / 60

# NEMA MG 10-2001 table 7, maximum starts an hour of design A and B motors: hp, then 2, 4 and 6
# poles. Read in two copies that agree (a document store and the EASA handbook page).
MG10_STARTS = """
1 15 30 34 | 1.5 12.9 25.7 29.1 | 2 11.5 23 26.1 | 3 9.9 19.8 22.4 | 5 8.1 16.3 18.4
7.5 7.0 13.9 15.8 | 10 6.2 12.5 14.2 | 15 5.4 10.7 12.1 | 20 4.8 9.6 10.9 | 25 4.4 8.8 10.0
30 4.1 8.2 9.3 | 40 3.7 7.4 8.4 | 50 3.4 6.8 7.7 | 60 3.2 6.3 7.2 | 75 2.9 5.8 6.6
100 2.6 5.2 5.9 | 125 2.4 4.8 5.4 | 150 2.2 4.5 5.1 | 200 2.0 4.0 4.5 | 250 1.8 3.7 4.2
"""
ROWS = [tuple(map(float, row.split())) for row in MG10_STARTS.replace("\n", "|").split("|") if row]


@pytest.mark.parametrize(("hp", "two", "four", "six"), ROWS)
def test_starts_an_hour_are_those_of_nema_mg10(hp, two, four, six):
    assert [motor_starts(hp, poles).starts_per_hour for poles in (2, 4, 6)] == [two, four, six]


def test_the_starts_table_is_whole():
    assert [row[0] for row in ROWS] == list(table("motor_starts").column("hp"))


def test_starts_with_a_heavy_load_follow_the_example_of_mg10():
    # NEMA MG 10 table 7 with its example, read on the EASA handbook page: 25 hp, four poles,
    # Wk2 = 50 lb ft2: min(8.8, 122/50) = 2.44 starts an hour, 58 s rest.
    allowed = motor_starts(25, 4, 50)
    assert (allowed.starts_per_hour, allowed.rest_s) == (pytest.approx(2.44), 58)


def test_the_cycle_of_a_wet_well_follows_mil_hdbk_1005():
    # MIL-HDBK-1005/9A, 2.5.3.6, equation 1 (formula read; figures chosen): V = 300 gal,
    # D = 200 gal/min, Q = 100 gal/min: 6.0 min, 10 starts an hour.
    cycle_s = cycle_time_s(300 * GALLON_L, 200 * GPM_L_S, 100 * GPM_L_S)
    assert cycle_s / 60 == pytest.approx(6.0)
    assert 3600 / cycle_s == pytest.approx(10.0)


def test_the_worst_inflow_is_half_the_pump_rate():
    # MIL-HDBK-1005/9A, 2.5.3.6: V = t D/4 at Q = D/2.
    volume, rate = 300 * GALLON_L, 200 * GPM_L_S
    assert worst_cycle_s(volume, rate) == pytest.approx(4 * volume / rate)
    shares = [share / 100 for share in range(1, 100)]
    assert min(shares, key=lambda s: cycle_time_s(volume, rate, s * rate)) == 0.5


@pytest.mark.parametrize(("pumps", "gallons"), [(1, 1250), (2, 625)])
def test_the_volume_of_a_wet_well_follows_ufc_3_240_04a(pumps, gallons):
    # UFC 3-240-04A / EI 11C201 (1997), chapter 7 and table 7-1 (rule read; figures chosen):
    # 500 gal/min, 10 min: V = t q/4 = 1,250 gal, half of it with two pumps in turn.
    volume = needed_volume_l(500 * GPM_L_S, 600, pumps)
    assert volume / GALLON_L == pytest.approx(gallons)


@pytest.mark.parametrize(("hp", "minutes"), [(15, 10), (20, 10), (50, 15), (100, 15), (200, 20)])
def test_the_shortest_cycle_is_the_lower_end_of_the_bands_of_ufc_table_7_1(hp, minutes):
    # UFC 3-240-04A table 7-1: under 20 hp 10-15 min, 20-100 hp 15-20 min, 100-250 hp 20-30 min.
    assert table("wet_well_cycle").at_least(hp)["min_cycle_min"] == minutes


def test_six_starts_an_hour_of_a_small_pump_agree_with_the_ten_states_reading():
    # Ten States Standards, submersible pumps, common reading (memory): 6 starts an hour, small.
    assert start_allowance(5, 4).starts_per_hour == 6


def test_two_pumps_in_turn_stay_under_four_starts_where_the_well_is_sized_so():
    # District code 6.20.460 (read): 4 starts an hour a pump, two pumps in turn.
    rate = 200 * GPM_L_S
    sump = Sump(rate / 2, rate, needed_volume_l(rate, 900, 2), alternating=True)
    assert pump_duty(sump, 2).worst_starts_per_hour == pytest.approx(4)


def test_pump_power_follows_the_worked_question():
    # GEMI water planner (question, formula and 60 % read; answer computed): 200 gal/min against
    # 100 ft: 5.06 water hp, 8.43 hp at the shaft.
    flow, head = 200 * GPM_L_S, 100 * FOOT_M
    assert water_hp(flow, head) == pytest.approx(5.06, rel=0.005)
    assert shaft_hp(flow, head) == pytest.approx(8.43, rel=0.005)


@pytest.mark.parametrize(("litres_s", "metres"), [(10, 10), (25, 30), (100, 5)])
def test_pump_power_agrees_with_the_metric_form(litres_s, metres):
    # P = 9.81 x m x L/s / 1000 kW (GEMI page, read); 1 hp = 0.7457 kW.
    kw = 9.81 * metres * litres_s / 1000
    assert water_hp(litres_s, metres) * 0.7457 == pytest.approx(kw, rel=0.002)


def test_the_mean_of_prime_power_counts_small_loads_as_thirty_percent():
    # ISO 8528-1 (70 % read; 30 % rule memory; segments chosen): 90 kW 6 h, 60 kW 10 h, 20 kW 8 h
    # on 100 kW: 57.5 kW, under the limit of 70 kW.
    mean = mean_load_percent(((90, 6), (60, 10), (20, 8)), 100)
    assert mean == pytest.approx(57.5)
    assert mean <= table("duty_rules").at("value", "mean_limit")


def test_a_load_of_22_kw_on_100_kw_is_light_by_8_kw():
    # NFPA 110 8.4.2, 30 % (read), used as a running rule: 22 % load, 8 kW short.
    assert light_hours_share(profile((22, 24)), 100) == 1
    assert light_share() * 100 - 22 == pytest.approx(8.0)


def test_eight_outlets_are_1440_va():
    # NEC 220.14(I), worked in a trade article (read): 8 x 180 VA.
    assert receptacle_load_va(8) == 1440


def test_receptacle_demand_is_half_above_ten_kva():
    # NEC 220.44 (220.47 from 2023), a forum's worked question (read): 15,300 + 4,860 VA: 15,080.
    assert receptacle_demand_va(15_300 + 4_860) == 15_080


def test_a_day_of_pumping_moves_the_inflow():
    # Conservation of volume: hours on x rate = inflow x 24 h, whatever the application makes of it.
    requirement, rows = job("dewatering", pump(12.0), sump=Sump(3.0, 12.0, 3600))
    levels = dict(duty_profile(requirement, rows)[0].levels)
    assert levels[12.0] * 12.0 == pytest.approx(24 * 3.0)
