"""The whole method: outcomes, doubts, two voltages, and what would let a smaller set do."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from sizing import Result, read_requirement, recommend
from sizing.check import Check
from sizing.doubts import backfeed, cannot_count, figure, light_load, no_set_fits, once
from sizing.easing import in_order, softer_start, with_soft_starters
from sizing.errors import OutsideTable
from sizing.evaluation import evaluate
from sizing.finding import Finding, Severity
from sizing.recommend import sized, worked
from sizing.supply import settle_supply
from sizing.trace import Trace
from sizing.ways import own_supplies
from tests.sizing.composition_cast import (
    HEATER,
    PUMP,
    a_demand,
    a_document,
    a_fleet,
    a_requirement,
    a_set,
)  # fmt: skip

LOW = {"name": "Low heater", "kind": "heater", "nameplate": "12 kW 208 V 3 ph"}
BULBS = {"name": "Office", "kind": "electronics", "nameplate": "600 W 120 V 1 ph"}


def result(*loads: dict[str, Any], fleet: Any = None, **changes: Any) -> Result:
    return recommend(read_requirement(a_document(*loads, **changes)), fleet or a_fleet())


def codes(found: Result, severity: Severity | None = None) -> set[str]:
    return {one.code for one in found.findings if severity in (None, one.severity)}


def test_a_clear_job_is_recommended_its_smallest_set() -> None:
    found = result()
    assert found.outcome == "recommended"
    assert found.recommendation is not None
    assert found.recommendation.kind == "one_set"
    assert not codes(found, Severity.NEEDS_PERSON)


def test_the_order_of_the_fleet_does_not_matter() -> None:
    job = a_requirement()
    assert recommend(job, a_fleet()).options == recommend(job, a_fleet()[::-1]).options


def test_an_unsettled_voltage_goes_to_a_person_with_a_provisional_set() -> None:
    """Applying the wrong voltage destroys equipment: no range settles it, whatever the plates."""
    found = result(supply="unsure")
    assert found.outcome == "needs_person"
    (asked,) = [one for one in found.findings if one.code == "supply_unsure"]
    assert "480Y/277" in asked.question
    assert found.document()["recommendation"]["provisional"] is True


def test_no_plate_and_no_supply_gives_no_set_but_a_question() -> None:
    found = result({"name": "Thing", "kind": "other", "nameplate": "2 kW"}, supply="unsure")
    assert (found.outcome, found.options) == ("needs_person", ())
    assert found.document()["demand"] == {}


def test_loads_without_any_size_give_no_set_but_a_question() -> None:
    found = result({"name": "Thing", "kind": "other", "nameplate": "480 V 3 ph"})
    assert found.outcome == "needs_person"
    assert found.options == ()


def test_nothing_fits_says_what_the_largest_set_fails() -> None:
    found = result({**HEATER, "nameplate": "150 kW 480 V 3 ph"}, fleet=a_fleet(40, 60))
    assert found.outcome == "no_fit"
    (doubt,) = [one for one in found.findings if one.code == "no_set_fits"]
    assert "S60, fails: running kw 60 kW against 150 kW" in doubt.detail


def test_a_fleet_without_the_supply_is_no_fit_too() -> None:
    found = result(fleet=[a_set(60, supplies=("120/240",))])
    assert found.outcome == "no_fit"
    assert "The largest" not in next(iter(found.findings)).detail


def test_sets_that_are_all_out_are_named_as_not_free() -> None:
    job = a_requirement()
    doubt = no_set_fits([a_set(60, quantity=0)], a_demand(job), job)
    assert "none is free" in doubt.detail


def test_a_doubt_that_needs_a_person_outweighs_no_fit() -> None:
    found = result({**HEATER, "nameplate": "150 kW 480 V 3 ph"}, fleet=a_fleet(40), supply="unsure")
    assert found.outcome == "needs_person"


def test_a_light_load_warns_with_its_remedy() -> None:
    found = result(fleet=[a_set(200)])
    assert "light_load" in codes(found, Severity.WARNING)
    assert found.outcome == "recommended"


def test_a_fair_load_does_not_warn() -> None:
    job = a_requirement()
    assert light_load(evaluate(a_set(40), a_demand(job), job)) == []


@pytest.mark.parametrize(
    ("feeds", "transfer", "asked"),
    [(True, None, True), (True, False, True), (True, True, False), (False, None, False),
     (None, None, False)],
)  # fmt: skip
def test_a_building_without_transfer_equipment_goes_to_a_person(
    feeds: Any, transfer: Any, asked: bool
) -> None:
    """NEC 702.5: the two sources must not meet."""
    site = a_requirement(site={"feeds_building": feeds, "transfer_equipment": transfer}).site
    found = backfeed(site)
    assert bool(found) is asked
    assert all(one.severity is Severity.NEEDS_PERSON and one.question for one in found)


def test_loads_that_wait_in_a_circle_go_to_a_person() -> None:
    found = result({**PUMP, "starts_after": "Heater"}, {**HEATER, "starts_after": "Pump"})
    assert found.outcome == "needs_person"
    assert "sequence_refused" in codes(found)


def test_a_circle_under_an_open_site_is_told_once_and_its_sheet_goes_as_far_as_it_can() -> None:
    loads = ({**PUMP, "starts_after": "Heater"}, {**HEATER, "starts_after": "Pump"})
    found = result(*loads, site={"altitude": None})
    assert [one.code for one in found.findings].count("sequence_refused") == 1
    assert {line.chapter for line in found.trace} >= {"supply", "nameplate"}


def test_an_open_site_writes_the_chapters_of_the_answer_given() -> None:
    found = result(site={"lead_length": None})
    assert {"nameplate", "starting", "sequence", "leads", "dip"} <= {x.chapter for x in found.trace}
    assert recommend(read_requirement(a_document(site={"lead_length": None})), ()).options == ()


def test_an_open_site_without_a_voltage_or_a_size_writes_nothing_more() -> None:
    thing = {"name": "Thing", "kind": "other", "nameplate": "2 kW"}
    assert result(thing, supply="unsure", site={"altitude": None}).options == ()
    no_size = {"name": "Thing", "kind": "other", "nameplate": "480 V 3 ph"}
    assert result(no_size, site={"altitude": None}).options == ()


def test_a_refusal_becomes_a_finding_of_its_own_code() -> None:
    doubt = cannot_count(OutsideTable("ambient_correction", 80, 10, 70, "degC"))
    assert (doubt.code, doubt.severity) == ("outside_table", Severity.NEEDS_PERSON)


def test_a_doubt_is_told_once() -> None:
    one = Finding("a", Severity.NOTE, "x", "d")
    other = replace(one, detail="e")
    assert once([one, other, one, other]) == (one, other)


def test_a_figure_has_four_digits_or_is_a_word() -> None:
    assert figure(150.3516, "A") == "150.4 A"
    assert figure("lugs", "-") == "lugs"


def test_a_small_load_of_another_voltage_goes_behind_a_transformer() -> None:
    large = {**HEATER, "nameplate": "20 kW 480 V 3 ph"}
    found = result(PUMP, large, {**LOW, "nameplate": "5 kW 208 V 3 ph"})
    first = found.recommendation
    assert first is not None
    assert "step_down_transformer" in {one.code for one in first.parts[0].accessories}
    assert "Step-down transformer" in {s.name for s in found.demands[0].sequence.steps}
    assert "two_voltages" in codes(found)
    assert "by_voltage" in {option.kind for option in found.options}


def test_a_large_load_of_another_voltage_takes_a_second_set() -> None:
    found = result({**PUMP}, {**LOW, "nameplate": "40 kW 208 V 3 ph"})
    first = found.recommendation
    assert first is not None
    assert first.kind == "by_voltage"
    assert [part.evaluation.supply for part in first.parts] == ["480Y/277", "208Y/120"]
    assert [demand.supply for demand in found.demands] == ["480Y/277", "208Y/120"]


def test_small_120_v_loads_may_live_on_the_set_s_own_receptacles() -> None:
    fleet = [replace(one, live_120v_at_480=True) for one in a_fleet()]
    found = result(PUMP, HEATER, BULBS, fleet=fleet)
    plugged = [
        option for option in found.options
        if any(load.via == "receptacles" for load in option.parts[0].evaluation.demand.loads)
    ]  # fmt: skip
    assert plugged
    dead = result(PUMP, HEATER, BULBS, fleet=a_fleet())
    assert not [
        option for option in dead.options
        if any(load.via == "receptacles" for load in option.parts[0].evaluation.demand.loads)
    ]  # fmt: skip


def test_no_second_set_stands_where_the_main_supply_carries_nothing() -> None:
    found = result(LOW)
    assert "by_voltage" not in {option.kind for option in found.options}
    assert found.outcome == "needs_person"


def test_a_load_that_no_supply_carries_has_no_supply_of_its_own() -> None:
    foreign = {"name": "Press", "kind": "motor", "nameplate": "5 hp 380 V 50 Hz 3 ph"}
    assert own_supplies(a_requirement(PUMP, foreign, LOW), "480Y/277") == {2: "208Y/120"}


def test_a_soft_starter_is_proposed_where_the_start_makes_the_set_large() -> None:
    found = result(PUMP, fleet=a_fleet(*range(15, 80, 5)))
    softer = [option for option in found.options if option.kind == "softer_start"]
    assert len(softer) == 1
    assert "With a soft starter on Pump" in softer[0].why
    assert softer[0].rated_kw < found.options[0].rated_kw
    assert "softer_start_proposed" in codes(found, Severity.NOTE)


def test_a_soft_starter_is_not_proposed_for_a_set_that_is_well_used() -> None:
    job = a_requirement(HEATER)
    first = sized(job, a_fleet(), settle_supply(job)).options[0]
    assert softer_start(a_fleet(), a_demand(job), job, first) == ()
    pump = a_requirement()
    used = sized(pump, a_fleet(), settle_supply(pump)).options[0]
    assert softer_start(a_fleet(), a_demand(pump), pump, used) == ()


def test_where_only_a_soft_starter_makes_it_fit_a_person_decides() -> None:
    fleet = [replace(one, quantity=1) for one in a_fleet(20)]
    found = result(PUMP, fleet=fleet)
    assert found.options[0].kind == "softer_start"
    assert found.outcome == "needs_person"
    assert "softer_start_proposed" in codes(found, Severity.NEEDS_PERSON)


def test_soft_starters_change_nothing_but_the_start() -> None:
    job = a_requirement()
    changed = with_soft_starters(job, [0])
    assert changed.loads[0].starting == "soft_starter"
    assert replace(changed, loads=job.loads) == job


def test_an_order_of_starting_is_shown_where_it_saves_a_size() -> None:
    """Start the pump before the electronics, which stand only a small dip."""
    rack = {"name": "Rack", "kind": "electronics", "nameplate": "10 kVA 480 V 3 ph"}
    found = result(PUMP, rack, fleet=a_fleet(*range(15, 200, 5)))
    ordered = [option for option in found.options if option.kind == "in_order"]
    assert len(ordered) == 1
    assert ordered[0].why.startswith("Start Pump, then Rack")
    assert ordered[0].rated_kw < found.options[0].rated_kw
    assert "order_proposed" in codes(found, Severity.NOTE)


def test_an_order_that_saves_nothing_in_this_fleet_is_not_shown() -> None:
    rack = {"name": "Rack", "kind": "electronics", "nameplate": "10 kVA 480 V 3 ph"}
    job = a_requirement(PUMP, rack)
    first = sized(job, [a_set(200)], settle_supply(job)).options[0]
    assert in_order([a_set(200)], a_demand(job), job, first) == ()


def test_the_trace_ends_with_the_checks_of_the_chosen_set() -> None:
    found = result()
    lines = [line for line in found.trace if line.chapter == "selection"]
    checks: tuple[Check, ...] = found.options[0].parts[0].checks
    assert len(lines) == len(checks)
    assert all(line.source for line in lines)
    assert all("holds" in line.line for line in lines)


def test_versions_name_the_method_and_its_tables() -> None:
    versions = result().versions
    assert versions["method"]
    assert len(versions["tables"]) == 12


def test_a_sheet_of_a_set_without_leads_names_none() -> None:
    job = a_requirement()
    answer = sized(job, a_fleet(), settle_supply(job))
    (part,) = answer.options[0].parts
    bare = replace(part.evaluation, demand=replace(part.evaluation.demand, leads=None))
    option = replace(answer.options[0], parts=(replace(part, evaluation=bare),))
    trace = Trace()
    worked(replace(answer, options=(option,)), trace)
    assert "leads" not in {line.chapter for line in trace.lines}
    assert "selection" in {line.chapter for line in trace.lines}
