"""Leads against the NEC, worked voltage drops, and pandapower as a second computation."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from sizing.ampacity import ambient_factor, base_ampacity_a, bundle_factor, lead_sizes
from sizing.conversions import FOOT_M
from sizing.leads import connection_order, leads
from sizing.protection import grounding_size, next_rating_a, set_conductor_amps, set_line_amps
from sizing.tables import table
from sizing.voltage_drop import (
    KFT_M,
    effective_impedance,
    line_volts,
    voltage_drop_percent,
    voltage_drop_v,
)
from tests.sizing.site_jobs import SET


def test_effective_impedance_of_250_kcmil_in_steel():
    # NEC Chapter 9 Table 9, worked on a training page (read, printed 0.073): R 0.054, X 0.052,
    # power factor 0.85: 0.0733 ohm/kft.
    assert effective_impedance(0.054, 0.052, 0.85) == pytest.approx(0.0733, rel=0.002)


def test_voltage_drop_of_65_a_over_1000_ft():
    # Worked with Table 9, 2/0 in steel (a training page, read): Ze 0.1135, 14.755 V single phase,
    # 12.778 V three phase, 2.66 % of 480 V.
    ze = effective_impedance(0.1, 0.054, 0.85)
    assert ze == pytest.approx(0.1135, rel=0.002)
    assert voltage_drop_v(65, ze, KFT_M, "120/240") == pytest.approx(14.755, rel=0.002)
    assert voltage_drop_v(65, ze, KFT_M, "480Y/277") == pytest.approx(12.778, rel=0.002)
    assert voltage_drop_percent(65, ze, KFT_M, "480Y/277") == pytest.approx(2.66, rel=0.002)


def test_voltage_drop_of_a_cam_lock_run():
    # NEC Chapter 9 Tables 8 and 9 (read; figures chosen): 4/0, R 0.0608, X 0.041, power factor
    # 0.8, 200 A, 200 ft, 208 V: 5.07 V, 2.44 %.
    ze = effective_impedance(0.0608, 0.041, 0.8)
    assert voltage_drop_v(200, ze, 200 * FOOT_M, "208Y/120") == pytest.approx(5.07, rel=0.003)
    drop = voltage_drop_percent(200, ze, 200 * FOOT_M, "208Y/120")
    assert drop == pytest.approx(2.44, rel=0.003)


def test_the_leads_chapter_takes_the_higher_resistance_of_the_two_tables_for_that_run():
    # The same run chosen by the chapter itself: Table 9 prints 0.062 where Table 8 prints 0.0608.
    found = leads(200, True, 200 * FOOT_M, "208Y/120", 0.8, 30)
    assert found.size == "4/0"
    assert found.voltage_drop_percent == pytest.approx(2.44, rel=0.02)
    assert found.voltage_drop_percent > 2.4395


def test_generator_conductors_carry_115_percent():
    # NEC 445.13(A) (read): 100 kW at 0.8 power factor, 480 V: 125 kVA, 150.35 A, 172.9 A.
    set_ = replace(SET, prime_kw=100.0, prime_kva=125.0)
    assert set_line_amps(set_, "480Y/277") == pytest.approx(150.35, rel=0.001)
    assert set_conductor_amps(set_, "480Y/277") == pytest.approx(172.9, rel=0.001)


@pytest.mark.parametrize(
    ("kva", "at_208", "at_240", "at_480"),
    [(25, 69.4, 60.1, 30.1), (75, 208.2, 180.4, 90.2), (125, 347.0, 300.7, 150.4),
     (250, 693.9, 601.4, 300.7), (625, 1734.8, 1503.5, 751.8)],
)  # fmt: skip
def test_line_currents_of_usual_sets(kva, at_208, at_240, at_480):
    # I = kVA x 1000 / (sqrt(3) V), the usual table of generator amperes (computed).
    set_ = replace(SET, prime_kva=float(kva))
    amps = [set_line_amps(set_, system) for system in ("208Y/120", "240/120", "480Y/277")]
    assert amps == pytest.approx([at_208, at_240, at_480], abs=0.06)


@pytest.mark.parametrize(("size", "amps"), [("8", 57), ("6", 77), ("4", 101), ("2", 133)])
def test_three_conductors_at_75_c_are_the_same_in_400_5_and_520_44(size, amps):
    # NEC Table 520.44(C)(2), 75 C column, extra-hard-usage cords, read apart from 400.5(A)(2).
    assert table("portable_cable").at("three_75c_a", size) == amps


@pytest.mark.parametrize(
    ("size", "msha_a"),
    [("6", 50), ("4", 65), ("2", 95), ("1/0", 120), ("2/0", 135), ("4/0", 180), ("250", 200)],
)
def test_three_conductors_at_60_c_are_near_the_mine_safety_table(size, msha_a):
    # 30 CFR Part 18 Appendix I Table 1, three-conductor portable cable, 60 C, 40 C air (read); the
    # NEC column at 60 C x 0.82 for 40 C air should come near; one for free air would not.
    assert table("portable_cable").at("three_60c_a", size) * 0.82 == pytest.approx(msha_a, rel=0.08)
    single = table("portable_cable").at("single_60c_a", size) * 0.82
    assert single > 1.15 * msha_a


@pytest.mark.parametrize(
    ("size", "make", "amps"),
    [("12", "cord", 20), ("10", "cord", 25), ("8", "cord", 35), ("6", "cord", 45),
     ("4", "cord", 60), ("2", "single", 133), ("2/0", "single", 208), ("4/0", "single", 277)],
)  # fmt: skip
def test_base_ampacities_are_those_of_400_5(size, make, amps):
    # NEC 2023 Tables 400.5(A)(1) column A and 400.5(A)(2) column F, 75 C (transcription).
    assert base_ampacity_a(size, make) == amps


@pytest.mark.parametrize(
    ("ambient", "at_60", "at_75"),
    [(30, 1.0, 1.0), (35, 0.91, 0.94), (40, 0.82, 0.88), (45, 0.71, 0.82), (50, 0.58, 0.75)],
)
def test_heat_factors_are_those_of_310_15(ambient, at_60, at_75):
    # NEC 2023 Table 310.15(B)(1)(1) (read in a transcription).
    assert ambient_factor(ambient, "cord") == at_60
    assert ambient_factor(ambient, "single") == at_75


@pytest.mark.parametrize("ambient", [35, 40, 45, 50])
@pytest.mark.parametrize(("make", "limit"), [("cord", 60), ("single", 75)])
def test_heat_factors_follow_the_heat_balance(ambient, make, limit):
    # NEC 310.15(B)(2): sqrt((Tc - Ta)/(Tc - 30)), of which the table holds the rows' upper ends.
    factor = math.sqrt((limit - ambient) / (limit - 30))
    assert ambient_factor(ambient, make) == pytest.approx(factor, abs=0.006)


@pytest.mark.parametrize(("conductors", "percent"), [(4, 80), (6, 80), (7, 70), (10, 50), (25, 45)])
def test_bundle_factors_are_those_of_400_5_a_3(conductors, percent):
    # NEC 2023 Table 400.5(A)(3) (read in a transcription).
    assert bundle_factor(conductors) == percent / 100


@pytest.mark.parametrize(
    ("amps", "size"),
    [(15, "14"), (20, "12"), (60, "10"), (100, "8"), (200, "6"), (300, "4"), (400, "3"),
     (500, "2"), (600, "1"), (800, "1/0"), (1000, "2/0"), (1200, "3/0")],
)  # fmt: skip
def test_grounds_are_those_of_250_122(amps, size):
    # NEC 2023 Table 250.122, copper (read in a transcription).
    assert grounding_size(amps) == size


@pytest.mark.parametrize(
    ("amps", "rating"), [(16, 20), (46, 50), (101, 110), (151, 175), (226, 250), (401, 450)]
)
def test_ratings_are_those_of_240_6(amps, rating):
    # NEC 2023 Table 240.6(A) (read in a transcription).
    assert next_rating_a(amps) == rating


def test_connectors_are_mated_ground_first():
    # NEC 406.13 and California Title 8 section 2584.7 (read): ground, grounded, phases.
    expected = ("ground", "neutral", "phase A", "phase B", "phase C")
    assert connection_order("208Y/120") == expected


@pytest.mark.parametrize("lead", lead_sizes(), ids=lambda lead: lead.size)
def test_resistance_follows_area(lead):
    # Copper at 75 C: 12.9 ohm cmil/ft (K method, memory), within the tables' last digits.
    assert lead.resistance_ohm_per_kft * lead.area_cmil / 1000 == pytest.approx(12.9, rel=0.045)


@pytest.fixture(scope="module")
def power_flow():
    """Drop of a line by pandapower [%] and its current [A]: one source, one line, one load."""
    import pandapower as pp

    def solve(volts, r_ohm, x_ohm, kva, power_factor):
        net = pp.create_empty_network(f_hz=60)
        near = pp.create_bus(net, vn_kv=volts / 1000)
        far = pp.create_bus(net, vn_kv=volts / 1000)
        pp.create_ext_grid(net, near)
        pp.create_line_from_parameters(
            net, near, far, length_km=1.0, r_ohm_per_km=r_ohm, x_ohm_per_km=x_ohm,
            c_nf_per_km=0.0, max_i_ka=10.0,
        )  # fmt: skip
        kw, kvar = kva * power_factor, kva * math.sqrt(1 - power_factor**2)
        pp.create_load(net, far, p_mw=kw / 1000, q_mvar=kvar / 1000)
        pp.runpp(net, numba=False)
        drop = 100 * (net.res_bus.vm_pu.iloc[0] - net.res_bus.vm_pu.iloc[1])
        return drop, 1000 * net.res_line.i_ka.iloc[0]

    return solve


@pytest.mark.parametrize("lead", lead_sizes()[3::2], ids=lambda lead: lead.size)
@pytest.mark.parametrize("system", ["208Y/120", "480Y/277"])
@pytest.mark.parametrize("power_factor", [0.7, 0.9])
def test_the_drop_agrees_with_a_power_flow_within_two_percent(
    power_flow, lead, system, power_factor
):
    # Model: stiff source, balanced constant-power load, series R and X of the same tables, no
    # capacitance; the chapter is given the current that the power flow finds.
    amps, volts = 0.6 * lead.base_a, line_volts(system)
    r, x = lead.resistance_ohm_per_kft, lead.reactance_ohm_per_kft
    ze = effective_impedance(r, x, power_factor)
    length_kft = 0.03 * volts / (math.sqrt(3) * amps * ze)
    kva = math.sqrt(3) * volts * amps / 1000
    flow, flow_a = power_flow(volts, r * length_kft, x * length_kft, kva, power_factor)
    ours = voltage_drop_percent(flow_a, ze, length_kft * KFT_M, system)
    assert ours == pytest.approx(flow, rel=0.02)


@pytest.mark.parametrize("power_factor", [0.8, 0.9, 1.0])
def test_the_single_phase_loop_agrees_with_a_power_flow_too(power_flow, power_factor):
    # A 240 V loop is one phase of a balanced net of 240 V to neutral whose line has twice R and X.
    lead, length_kft, amps = lead_sizes()[-2], 0.3, 90.0
    r, x = lead.resistance_ohm_per_kft, lead.reactance_ohm_per_kft
    flow, flow_a = power_flow(
        240 * math.sqrt(3), 2 * r * length_kft, 2 * x * length_kft, 3 * 0.24 * amps, power_factor
    )
    ze = effective_impedance(r, x, power_factor)
    ours = voltage_drop_percent(flow_a, ze, length_kft * KFT_M, "120/240")
    assert ours == pytest.approx(flow, rel=0.02)


@pytest.mark.parametrize(("amps", "length_m", "system"), [
    (45, 25, "208Y/120"), (150, 60, "208Y/120"), (220, 45, "480Y/277"), (420, 60, "208Y/120"),
])  # fmt: skip
def test_the_leads_as_chosen_agree_with_a_power_flow(power_flow, amps, length_m, system):
    # Parallel runs in the power flow as one line of R/n and X/n.
    found = leads(amps, True, length_m, system, 0.8, 30)
    lead = next(size for size in lead_sizes() if size.size == found.size)
    share = length_m / KFT_M / found.runs_per_phase
    r, x = lead.resistance_ohm_per_kft * share, lead.reactance_ohm_per_kft * share
    kva = math.sqrt(3) * line_volts(system) * amps / 1000
    flow, flow_a = power_flow(line_volts(system), r, x, kva, 0.8)
    assert found.voltage_drop_percent * flow_a / amps == pytest.approx(flow, rel=0.02)
