"""Terminals, order of connection, plugs, boxes, ramps."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.connection import (
    cam_series,
    connection_steps,
    fitted_leads,
    lead_checks,
    lead_findings,
    lead_sections,
    ramp_count,
    terminals_of,
)
from sizing.errors import OutsideTable, TableRefused
from sizing.finding import Severity
from sizing.leads import leads
from sizing.plugs import live_receptacles, plug_findings, plug_plan, read_plug, receptacle_for
from sizing.requirement import SUPPLIES
from sizing.tables import table
from sizing.trace import Trace
from tests.sizing.site_jobs import SET, codes

STOCKED = {"5-20": 2, "14-50": 1, "L14-30": 1, "L16-30": 1, "L21-30": 1}
HIRED = replace(SET, receptacles=STOCKED, cam_sets=1, main_breaker_a=250.0)
NAMES = st.sampled_from(sorted(table("receptacles").column("configuration")))


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("L14-30", "L14-30"), ("nema l14-30p", "L14-30"), ("14-50R", "14-50"), ("TT-30", "TT-30"),
        ("CS6364", "CS6365"), ("cs 6375", "CS6365"), ("CS-8364", "CS8365"), ("5-15 P", "5-15"),
        ("9-99", None), ("blue plug", None), ("", None),
    ],
)  # fmt: skip
def test_plugs_are_read_as_people_write_them(written, name):
    assert read_plug(written) == name


@given(NAMES)
def test_every_configuration_reads_back_as_itself(name):
    assert read_plug(f"NEMA {name}P") == name


def test_receptacles_live_where_their_voltage_is():
    assert set(live_receptacles(HIRED, "480Y/277")) == {"L16-30"}
    assert set(live_receptacles(HIRED, "120/240")) == {"5-20", "14-50", "L14-30"}
    assert "L21-30" in live_receptacles(HIRED, "208Y/120")
    both = replace(HIRED, live_120v_at_480=True)
    assert {"5-20", "14-50", "L16-30"} <= set(live_receptacles(both, "480Y/277"))


def test_a_record_with_an_unknown_receptacle_is_refused():
    with pytest.raises(TableRefused, match="9-99"):
        live_receptacles(replace(SET, receptacles={"9-99": 1}), "120/240")


def test_a_whole_load_takes_the_smallest_receptacle_of_its_phases():
    assert receptacle_for(HIRED, "120/240", 30) == "L14-30"
    assert receptacle_for(HIRED, "120/240", 31) == "14-50"
    assert receptacle_for(HIRED, "480Y/277", 20) == "L16-30"
    assert receptacle_for(HIRED, "480Y/277", 40) is None


def test_leads_end_where_the_set_has_terminals_for_them():
    cord = leads(20, True, 5, "208Y/120", 0.9, 30)
    cams = leads(100, True, 5, "208Y/120", 0.9, 30)
    assert terminals_of(HIRED, "208Y/120", cord) == "receptacle"
    assert terminals_of(replace(HIRED, receptacles={}), "208Y/120", cord) == "cam_lock"
    assert terminals_of(HIRED, "208Y/120", cams) == "cam_lock"
    assert terminals_of(replace(HIRED, cam_sets=0), "208Y/120", cams) == "lugs"
    assert terminals_of(replace(HIRED, cam_sets=0, lugs=False), "208Y/120", cams) is None
    heavy = leads(400, True, 5, "208Y/120", 0.9, 30)
    assert terminals_of(HIRED, "208Y/120", heavy) == "lugs"


def test_a_cord_without_a_receptacle_becomes_single_conductors():
    cord = leads(20, True, 5, "208Y/120", 0.9, 30)
    assert fitted_leads(cord, HIRED, "208Y/120") == cord
    bare = replace(HIRED, receptacles={})
    single = fitted_leads(cord, bare, "208Y/120")
    assert (single.size, single.make, single.connection) == ("2", "single", "cam_lock")
    assert single.connection_order[0] == "ground"
    assert single.ampacity_a > cord.ampacity_a


def test_the_trace_tells_why_other_leads_go():
    trace = Trace()
    cord = leads(20, True, 5, "208Y/120", 0.9, 30)
    fitted_leads(cord, HIRED, "208Y/120", trace)
    assert trace.lines == []
    fitted_leads(cord, replace(HIRED, receptacles={}), "208Y/120", trace)
    assert trace.lines[0].line == "T60 has no receptacle for these leads: cam_lock"
    assert trace.lines[2].line.startswith("1 x 2: 133 A")


def test_cams_without_a_set_of_cams_land_on_lugs():
    cams = leads(100, True, 5, "208Y/120", 0.9, 30)
    landed = fitted_leads(cams, replace(HIRED, cam_sets=0), "208Y/120")
    assert (landed.size, landed.connection, landed.connection_order) == (cams.size, "lugs", ())


def test_leads_of_unknown_basis_or_without_terminals_stay_as_they_are():
    cord = leads(20, True, 5, "208Y/120", 0.9, 30)
    bare = replace(HIRED, receptacles={}, cam_sets=0, lugs=False)
    assert fitted_leads(cord, bare, "208Y/120") == cord
    unknown = replace(cord, basis=None)
    assert fitted_leads(unknown, replace(HIRED, receptacles={}), "208Y/120") == unknown


def test_plugs_go_to_the_set_then_a_box_then_a_splitter_then_nowhere():
    plugs = ["L14-30P", "14-50", "14-50", "5-15", "5-20", "5-20", "TT-30", "?"]
    plan = plug_plan(plugs, HIRED, "120/240")
    assert plan.served == ("L14-30", "14-50", "5-15", "5-20")
    assert (plan.boxed, plan.boxes, plan.box_feed) == (("5-20",), 1, "cam_lock")
    assert (plan.split, plan.unserved, plan.unknown) == (("14-50",), ("TT-30",), ("?",))


def test_a_box_hangs_on_a_spare_fifty_ampere_receptacle():
    plan = plug_plan(["5-20"] * 10, HIRED, "120/240")
    assert (len(plan.boxed), plan.boxes, plan.box_feed) == (8, 2, "14-50")


def test_no_plugs_need_no_box():
    assert plug_plan([], HIRED, "120/240") == plug_plan((), SET, "480Y/277")


def test_at_480_v_small_plugs_are_dead_unless_the_set_feeds_them():
    assert plug_plan(["5-20"], HIRED, "480Y/277").unserved == ("5-20",)
    alive = replace(HIRED, live_120v_at_480=True)
    assert plug_plan(["5-20"] * 4, alive, "480Y/277").boxes == 1


@given(st.lists(NAMES, max_size=12), st.sampled_from(SUPPLIES))
def test_every_plug_has_just_one_place(plugs, system):
    plan = plug_plan(plugs, HIRED, system)
    placed = [*plan.served, *plan.boxed, *plan.split, *plan.unserved]
    assert Counter(placed) == Counter(plugs)
    assert not Counter(plan.served) - (
        live_receptacles(HIRED, system) + Counter({"5-15": 2, "6-15": 2})
    )


def test_what_has_no_place_is_asked_about():
    plan = plug_plan(["blue", "14-50", "14-50", "TT-30"], HIRED, "120/240")
    findings = plug_findings(plan, "120/240")
    assert codes(findings) == ["plug_unknown", "plug_shared", "plug_unserved"]
    assert "40 A" in findings[1].question
    assert plug_findings(plug_plan(["14-50"], HIRED, "120/240"), "120/240") == []


def test_connection_steps_carry_their_colours():
    steps = connection_steps("480Y/277")
    assert [(s.step, s.conductor) for s in steps[:2]] == [(1, "ground"), (2, "neutral")]
    assert [s.color for s in steps[2:]] == ["brown", "orange", "yellow"]
    assert [s.must for s in steps] == [True, True, False, False, False]


def test_the_high_leg_must_be_orange():
    high = connection_steps("240/120")[3]
    assert (high.conductor, high.color, high.must) == ("phase B", "orange", True)


def test_connectors_carry_their_series():
    assert [cam_series(amps) for amps in (100, 100.1, 400, 760)] == ["15", "16", "16", "17"]
    with pytest.raises(OutsideTable, match="761"):
        cam_series(761)


@pytest.mark.parametrize(("length", "sections"), [(0, 1), (15.24, 1), (15.3, 2), (76.2, 5)])
def test_leads_are_joined_from_fifty_foot_lengths(length, sections):
    assert lead_sections(length) == sections


def test_each_run_needs_its_row_of_ramps():
    assert ramp_count(leads(100, True, 5, "208Y/120", 0.9, 30)) == 4
    assert ramp_count(leads(500, True, 5, "208Y/120", 0.9, 30)) == 12


def test_the_breaker_is_held_against_the_leads():
    cams = leads(60, True, 5, "208Y/120", 0.9, 30)
    ampacity, drop, protection = lead_checks(cams, HIRED, "208Y/120")
    assert ampacity.passed
    assert drop.passed
    assert (protection.required, protection.provided) == (250, 150)
    assert not protection.passed
    assert not protection.binding


def test_a_cord_is_protected_by_its_receptacle():
    cord = leads(20, True, 5, "208Y/120", 0.9, 30)
    checks = lead_checks(cord, HIRED, "208Y/120")
    assert all(check.passed for check in checks)
    assert "400.5(A)(1)" in checks[0].source


def test_leads_that_do_not_do_go_to_a_person_and_long_ones_are_noted():
    assert lead_findings(leads(60, True, 20, "208Y/120", 0.9, 30)) == []
    long = lead_findings(leads(60, True, 80, "480Y/277", 0.9, 30))
    assert [(f.code, f.severity) for f in long] == [("leads_long", Severity.NOTE)]
    heavy = lead_findings(leads(3000, True, 20, "208Y/120", 0.9, 30))
    assert [(f.code, f.severity) for f in heavy] == [("leads_outside", Severity.NEEDS_PERSON)]


@pytest.mark.parametrize(("breaker", "words"), [(250.0, "main breaker"), (None, "without a main")])
def test_leads_that_the_breaker_does_not_protect_are_warned_of(breaker, words):
    cams = leads(60, True, 5, "208Y/120", 0.9, 30)
    findings = lead_findings(cams, replace(HIRED, main_breaker_a=breaker), "208Y/120")
    assert [(f.code, f.severity) for f in findings] == [("lead_protection", Severity.WARNING)]
    assert words in findings[0].detail
    assert lead_findings(cams, replace(HIRED, main_breaker_a=150.0), "208Y/120") == []


def test_a_cord_that_ends_on_connectors_loses_the_protection_of_its_receptacle():
    cord = leads(20, True, 5, "208Y/120", 0.9, 30)
    bare = replace(HIRED, receptacles={})
    assert not lead_checks(cord, bare, "208Y/120")[2].passed
    assert lead_findings(cord, HIRED, "208Y/120") == []
