"""The result document: the fields the design fixes, plain values, figures that agree."""

from __future__ import annotations

import json
from typing import Any

import pytest

from sizing import Result, read_requirement, recommend
from sizing.result import demand_document, option_document
from tests.sizing.composition_cast import HEATER, PUMP, a_document, a_fleet, a_requirement

DEMAND = {"running_kw", "running_kva", "power_factor", "phase_amps", "start_kva", "start_kw",
          "worst_step"}  # fmt: skip
RECOMMENDATION = {
    "sets", "supply", "rated_kw", "site_kw", "load_percent", "mean_load_percent",
    "voltage_dip_percent", "frequency_dip_percent", "fuel_l_per_day", "autonomy_h", "sound_dba",
    "leads", "accessories", "checks",
}  # fmt: skip
LEADS = {"size", "runs_per_phase", "length_m", "ampacity_a", "voltage_drop_percent"}
CHECK = {"name", "required", "provided", "unit", "passed", "source"}
FINDING = {"code", "severity", "subject", "detail", "question"}
LOW = {"name": "Low heater", "kind": "heater", "nameplate": "40 kW 208 V 3 ph"}


def document(*loads: dict[str, Any], **changes: Any) -> dict[str, Any]:
    return recommend(read_requirement(a_document(*loads, **changes)), a_fleet()).document()


def test_the_document_has_the_fields_that_are_fixed() -> None:
    found = document()
    assert found["outcome"] == "recommended"
    assert set(found["demand"]) >= DEMAND
    chosen = found["recommendation"]
    assert set(chosen) >= RECOMMENDATION
    assert set(chosen["leads"]) >= LEADS
    assert all(set(check) >= CHECK for check in chosen["checks"])
    assert all(set(one) >= {"code", "quantity", "why"} for one in chosen["accessories"])
    assert all(set(line) == {"chapter", "line", "source"} for line in found["trace"])
    assert all(set(one) >= FINDING for one in found["findings"])


def test_alternatives_have_the_same_shape_with_a_why() -> None:
    found = document()
    assert found["alternatives"]
    for other in found["alternatives"]:
        assert set(other) == set(found["recommendation"])
        assert other["why"]


@pytest.mark.parametrize("changes", [{}, {"supply": "unsure"}, {"site": {"altitude": None}}])
def test_the_document_survives_json(changes: dict[str, Any]) -> None:
    found = document(**changes)
    assert json.loads(json.dumps(found, allow_nan=False)) == found


def test_a_recommendation_that_needs_a_person_is_provisional() -> None:
    assert document()["recommendation"]["provisional"] is False
    asked = document(supply="unsure")
    assert asked["recommendation"]["provisional"] is True
    assert all(other["provisional"] for other in asked["alternatives"])


def test_figures_are_those_of_the_checks() -> None:
    found = document()
    chosen = found["recommendation"]
    checks = {check["name"]: check for check in chosen["checks"]}
    assert checks["running_kw"]["required"] == found["demand"]["running_kw"]
    assert checks["running_kw"]["provided"] == chosen["site_kw"]
    assert checks["voltage_dip"]["provided"] == chosen["voltage_dip_percent"]
    assert checks["frequency_dip"]["provided"] == chosen["frequency_dip_percent"]
    assert checks["mean_load"]["provided"] == chosen["mean_load_percent"]
    ratio = 100 * found["demand"]["running_kw"] / chosen["site_kw"]
    assert chosen["load_percent"] == pytest.approx(ratio, abs=0.01)


def test_two_supplies_add_power_and_fuel_and_keep_the_worst_of_the_rest() -> None:
    found = document(PUMP, LOW)
    chosen = found["recommendation"]
    assert chosen["kind"] == "by_voltage"
    assert len(chosen["parts"]) == len(chosen["sets"]) == 2
    for name in ("rated_kw", "site_kw", "fuel_l_per_day"):
        assert chosen[name] == pytest.approx(sum(part[name] for part in chosen["parts"]))
    assert chosen["autonomy_h"] == min(part["autonomy_h"] for part in chosen["parts"])
    assert chosen["load_percent"] == max(part["load_percent"] for part in chosen["parts"])
    assert chosen["sound_dba"] is None
    assert {check["set"] for check in chosen["checks"]} == {s["code"] for s in chosen["sets"]}


def test_sound_of_two_sets_is_that_of_the_louder_part() -> None:
    site = {"noise_distance": "20 m"}
    chosen = document(PUMP, LOW, site=site)["recommendation"]
    assert chosen["sound_dba"] == max(part["sound_dba"] for part in chosen["parts"])


def test_each_load_is_listed_with_its_start() -> None:
    loads = document()["demand"]["loads"]
    assert [load["name"] for load in loads] == ["Pump", "Heater"]
    assert loads[0]["start_kva"] > loads[0]["running_kva"]
    assert loads[0]["start_basis"] == "code_letter"


def test_the_frequency_curve_is_there_to_be_drawn() -> None:
    found = document()
    curve = found["recommendation"]["frequency_curve"]
    assert len(curve) > 10
    lowest_hz = min(hertz for _, hertz in curve)
    dip = found["recommendation"]["frequency_dip_percent"]
    assert lowest_hz == pytest.approx(60 * (1 - dip / 100), abs=0.1)
    assert curve[0][0] == pytest.approx(0, abs=0.05)


def test_an_order_names_the_loads_to_start() -> None:
    rack = {"name": "Rack", "kind": "electronics", "nameplate": "10 kVA 480 V 3 ph"}
    assert document(PUMP, rack)["demand"]["order"] == ["Pump", "Rack"]
    assert document(HEATER)["demand"]["order"] == ["Heater"]


def test_nothing_to_size_gives_an_empty_demand_and_no_recommendation() -> None:
    empty = Result()
    assert empty.outcome == "no_fit"
    assert empty.recommendation is None
    assert demand_document(()) == {}
    assert empty.document()["recommendation"] is None


def test_no_current_has_no_leads_in_the_document() -> None:
    from dataclasses import replace

    option = recommend(a_requirement(), a_fleet()).options[0]
    (part,) = option.parts
    bare = replace(part.evaluation, demand=replace(part.evaluation.demand, leads=None))
    found = option_document(replace(option, parts=(replace(part, evaluation=bare),)), False)
    assert found["leads"] is None


def test_cautions_go_with_every_result() -> None:
    found = document()
    assert {"backfeed"} <= {caution["code"] for caution in found["cautions"]}
    assert all(caution["source"] for caution in found["cautions"])
