"""Leads: ampacity where they lie, drop, protection, ground."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.ampacity import (
    CORD,
    SINGLE,
    ambient_factor,
    base_ampacity_a,
    bundle_factor,
    lead_sizes,
    run_ampacity_a,
)
from sizing.errors import OutsideTable, TableRefused
from sizing.leads import connection_order, leads, remaining_drop_percent, terminals
from sizing.protection import (
    grounding_size,
    most_protection_a,
    next_rating_a,
    protection_needed_a,
    set_conductor_amps,
    set_line_amps,
)
from sizing.requirement import SUPPLIES
from sizing.tables import table
from sizing.trace import Trace
from sizing.voltage_drop import effective_impedance, line_volts, voltage_drop_percent
from tests.sizing.site_jobs import SET

AMPS, LENGTHS = st.floats(1, 600), st.floats(0, 200)
SYSTEMS, FACTORS, HEAT = st.sampled_from(SUPPLIES), st.floats(0.5, 1), st.floats(-20, 70)


def rank(found):
    """Runs, then area: the order in which leads are tried."""
    areas = {lead.size: lead.area_cmil for lead in lead_sizes()}
    return found.runs_per_phase, areas[found.size]


@given(AMPS, LENGTHS, SYSTEMS, FACTORS, HEAT)
def test_chosen_leads_carry_the_current_and_hold_the_drop(amps, length, system, pf, heat):
    found = leads(amps, True, length, system, pf, heat)
    assert found.design_amps == pytest.approx(1.25 * amps)
    if found.passed:
        assert found.ampacity_a >= found.design_amps
        assert found.voltage_drop_percent <= 3
    assert found.protection_a >= found.design_amps or not found.passed


@given(AMPS, AMPS, LENGTHS, SYSTEMS)
def test_more_current_never_takes_less_ampacity(some, more, length, system):
    low, high = sorted((some, more))
    smaller = leads(low, True, length, system, 0.8, 30)
    larger = leads(high, True, length, system, 0.8, 30)
    assert smaller.ampacity_a <= larger.ampacity_a + 1e-9


@given(AMPS, LENGTHS, LENGTHS, SYSTEMS)
def test_a_longer_way_never_takes_fewer_runs_nor_smaller_ones(amps, some, more, system):
    near, far = sorted((some, more))
    short = leads(amps, True, near, system, 0.8, 30)
    long = leads(amps, True, far, system, 0.8, 30)
    assert rank(short) <= rank(long)


@given(st.sampled_from([CORD, SINGLE]), st.floats(-20, 55), st.floats(-20, 55))
def test_a_hotter_day_never_gives_more_ampacity(make, some, more):
    cool, hot = sorted((some, more))
    assert 1 >= ambient_factor(cool, make) >= ambient_factor(hot, make) > 0


def test_bundled_leads_never_take_the_column_of_free_air():
    free, bundled = table("portable_cable").row("4/0"), base_ampacity_a("4/0", SINGLE)
    assert bundled == free["three_75c_a"] == 277
    assert bundled < free["single_75c_a"] == 360


def test_cords_and_single_conductors_stop_where_their_columns_end():
    assert ambient_factor(55, CORD) == 0.41
    with pytest.raises(OutsideTable, match="10 to 55"):
        ambient_factor(56, CORD)
    assert ambient_factor(70, SINGLE) == 0.33
    with pytest.raises(OutsideTable, match="10 to 70"):
        ambient_factor(70.1, SINGLE)
    with pytest.raises(OutsideTable, match="10 to 85"):
        ambient_factor(90, SINGLE)


def test_a_size_not_in_the_table_is_refused():
    with pytest.raises(TableRefused, match="4/0"):
        base_ampacity_a("4/0", CORD)


@pytest.mark.parametrize(
    ("conductors", "factor"),
    [(1, 1), (3, 1), (4, 0.8), (6, 0.8), (7, 0.7), (9, 0.7), (10, 0.5), (21, 0.45), (50, 0.35)],
)
def test_more_loaded_conductors_carry_less(conductors, factor):
    assert bundle_factor(conductors) == factor


def test_a_loaded_neutral_takes_a_fifth_of_the_ampacity():
    lead = lead_sizes()[-1]
    assert run_ampacity_a(lead, 30, 4) == pytest.approx(0.8 * run_ampacity_a(lead, 30))
    found = leads(150, True, 10, "208Y/120", 0.9, 30, neutral_loaded=True)
    assert found.size == "4/0"
    assert found.ampacity_a == pytest.approx(0.8 * 277)
    assert "the neutral counts as loaded" in found.assumptions


def test_a_full_neutral_gets_runs_of_its_own():
    found = leads(150, True, 10, "208Y/120", 0.9, 30, neutral_amps=200)
    assert (found.size, found.runs_per_phase, found.neutral_runs) == ("2/0", 1, 2)
    heavy = leads(500, True, 10, "208Y/120", 0.9, 30, neutral_amps=700)
    assert (heavy.runs_per_phase, heavy.neutral_runs) == (3, 4)


def test_a_short_small_load_goes_by_cord_and_receptacle():
    found = leads(30, True, 10, "208Y/120", 0.8, 30)
    assert (found.size, found.make, found.connection) == ("6", CORD, "receptacle")
    assert found.connection_order == ()


def test_the_same_load_far_away_goes_by_single_conductors():
    found = leads(30, True, 150, "120/240", 0.8, 30)
    assert (found.make, found.connection) == (SINGLE, "cam_lock")


def test_leads_say_what_they_were_chosen_on():
    single = "ampacity of three conductors together, 75 degC, not of free air"
    apart = "parallel runs alike in length and size, laid apart by a lead's width"
    assert leads(100, True, 10, "208Y/120", 0.8, 30).assumptions == (single,)
    assert leads(230, True, 10, "208Y/120", 0.8, 30).assumptions == (single, apart)
    cord = single.replace("75 degC", "cord table")
    assert leads(20, True, 10, "208Y/120", 0.8, 30).assumptions == (cord,)


def test_cam_connectors_come_with_their_order_and_lugs_without():
    cams = leads(100, True, 10, "480Y/277", 0.8, 30)
    assert cams.connection_order == connection_order("480Y/277")
    assert leads(400, True, 10, "480Y/277", 0.8, 30).connection_order == ()


def test_a_load_that_does_not_flow_for_long_counts_once():
    assert leads(30, False, 10, "208Y/120", 0.8, 30).design_amps == 30


def test_the_cam_connectors_end_where_lugs_begin():
    assert terminals(SINGLE, 400) == "cam_lock"
    assert terminals(SINGLE, 400.1) == "lugs"
    assert terminals(CORD, 20) == "receptacle"


def test_where_cords_are_too_hot_single_conductors_go():
    assert leads(20, True, 5, "120/240", 0.9, 60).make == SINGLE
    with pytest.raises(OutsideTable):
        leads(20, True, 5, "120/240", 0.9, 80)


def test_parallel_runs_are_alike_and_never_of_small_sizes():
    found = leads(500, True, 20, "480Y/277", 0.8, 30)
    assert (found.size, found.runs_per_phase, found.connection) == ("4/0", 3, "lugs")
    assert "laid apart" in found.assumptions[1]


def test_two_runs_begin_at_the_smallest_size_that_may_lie_in_parallel():
    found = leads(230, True, 10, "480Y/277", 0.8, 30)
    assert (found.size, found.runs_per_phase) == ("2/0", 2)


def test_a_pair_of_small_sizes_never_stands_in_for_reactance():
    found = leads(100, True, 201, "208Y/120", 0.3, 30)  # a pair of 2 AWG would hold the drop
    assert (found.size, found.runs_per_phase) == ("2/0", 2)


def test_runs_share_the_current_and_so_the_drop():
    found, lead = leads(500, True, 40, "480Y/277", 0.8, 30), lead_sizes()[-1]
    ze = effective_impedance(lead.resistance_ohm_per_kft, lead.reactance_ohm_per_kft, 0.8)
    alone = voltage_drop_percent(500, ze, 40, "480Y/277")
    assert found.voltage_drop_percent == pytest.approx(alone / 3)


def test_leads_that_carry_just_what_is_asked_do():
    assert leads(133 / 1.25, True, 1, "480Y/277", 0.8, 30).size == "2"
    assert leads(40, True, 1, "480Y/277", 0.8, 30).make == CORD
    assert leads(60, True, 1, "480Y/277", 0.8, 30, fit_for_a=150).size == "2"


def test_what_no_leads_carry_is_said_not_shortened():
    assert leads(8 * 277 / 1.25, True, 1, "480Y/277", 0.8, 30).passed
    found = leads(1800, True, 1, "480Y/277", 0.8, 30)
    assert not found.passed
    assert (found.size, found.runs_per_phase) == ("4/0", 8)


def test_leads_are_fit_for_the_breaker_before_them():
    assert leads(60, True, 5, "208Y/120", 0.8, 30).size == "2"
    assert leads(60, True, 5, "208Y/120", 0.8, 30, fit_for_a=250).size == "4/0"


def test_a_ground_grows_with_the_phases_that_the_drop_enlarged():
    near = leads(60, True, 5, "208Y/120", 0.8, 30)
    far = leads(60, True, 120, "208Y/120", 0.8, 30)
    assert (near.size, near.grounding_size) == ("2", "8")
    assert (far.size, far.grounding_size) == ("2/0", "4")


def test_the_rest_of_five_percent_is_left_to_the_wiring_beyond():
    found = leads(150, True, 60, "208Y/120", 0.8, 30)
    rest = remaining_drop_percent(found)
    assert rest == pytest.approx(5 - found.voltage_drop_percent)
    assert remaining_drop_percent(replace(found, voltage_drop_percent=7.0)) == 0


@pytest.mark.parametrize("system", SUPPLIES)
def test_the_ground_is_always_first_and_the_neutral_second(system):
    assert connection_order(system)[:2] == ("ground", "neutral")


def test_every_phase_of_a_system_has_its_connector():
    single = ("ground", "neutral", "leg 1", "leg 2")
    three = ("ground", "neutral", "phase A", "phase B", "phase C")
    assert connection_order("120/240") == single
    assert [connection_order(s) for s in ("208Y/120", "480Y/277", "240/120")] == [three] * 3


def test_systems_name_their_line_voltage():
    assert [line_volts(system) for system in SUPPLIES] == [240, 208, 480, 240]
    with pytest.raises(ValueError, match="could not convert"):
        line_volts("unsure")


def test_an_impossible_power_factor_is_refused():
    with pytest.raises(ValueError, match="math domain"):
        effective_impedance(0.1, 0.05, 1.2)


@given(AMPS, LENGTHS)
def test_the_single_phase_loop_drops_more_than_the_three_phase_line(amps, length):
    single = voltage_drop_percent(amps, 0.1, length, "120/240")
    assert single >= voltage_drop_percent(amps, 0.1, length, "240/120")


def test_the_next_rating_protects_up_to_800_a_and_the_one_below_beyond():
    assert next_rating_a(201) == 225
    assert most_protection_a(277) == 300
    assert most_protection_a(795) == 800
    assert most_protection_a(831) == 800
    assert most_protection_a(1200) == 1200
    assert [most_protection_a(a) for a in (800, 800.1, 999, 1000)] == [800, 800, 800, 1000]
    with pytest.raises(OutsideTable, match="standard_protection"):
        next_rating_a(6001)


def test_a_set_with_a_breaker_needs_leads_for_it_and_one_without_for_its_plate():
    bare = replace(SET, main_breaker_a=None)
    assert protection_needed_a(replace(SET, main_breaker_a=100.0), "480Y/277") == 100
    assert protection_needed_a(bare, "480Y/277") == set_conductor_amps(bare, "480Y/277")


def test_the_single_phase_current_follows_the_record_or_the_line():
    assert set_line_amps(SET, "120/240") == pytest.approx(75000 / 240 / 3**0.5)
    assert set_line_amps(replace(SET, single_phase_kva=48.0), "120/240") == 200


@pytest.mark.parametrize(
    ("protection", "enlarged", "size"),
    [(20, 1, "12"), (60, 1, "10"), (100, 1, "8"), (100, 1.6, "4"), (400, 1, "3"), (6000, 9, "800")],
)
def test_the_ground_follows_protection_and_enlargement(protection, enlarged, size):
    assert grounding_size(protection, enlarged) == size


def test_the_trace_can_be_done_again_by_hand():
    trace = Trace()
    found = leads(150, True, 30, "480Y/277", 0.8, 35, trace)
    current, carried, impedance, drop = [line.line for line in trace.lines]
    assert {line.chapter for line in trace.lines} == {"leads"}
    assert [line.source for line in trace.lines] == [
        "NEC 2023, 215.2(A)(1) and 215.3",
        "NFPA 70 (NEC) 2023, Table 400.5(A)(2)",
        "NFPA 70 (NEC) 2023, Chapter 9 Table 9",
        "NEC 2023, 215.2(A)(2) informational note",
    ]
    assert current == "I = 150.0 A x 1.25 = 187.5 A"
    assert carried == (
        "1 x 2/0: 208 A x 0.94 x 1 x 1 = 195.5 A "
        "(ampacity of three conductors together, 75 degC, not of free air)"
    )
    assert impedance == "Ze = 0.1 x 0.800 + 0.043 x 0.600 = 0.1058 ohm/kft"
    assert drop == (
        "Drop = sqrt(3) x 150.0 A / 1 x 0.1058 ohm/kft x 0.0984 kft / 480 V"
        f" = {found.voltage_drop_percent:.2f} %"
    )


def test_the_trace_of_a_cord_on_single_phase_names_its_table():
    trace = Trace()
    leads(20, True, 10, "120/240", 0.9, 30, trace)
    assert "Table 400.5(A)(1)" in trace.lines[1].source
    assert trace.lines[3].line.startswith("Drop = 2 x 20.0 A")
