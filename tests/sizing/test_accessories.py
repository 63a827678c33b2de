"""What goes along with a set, each piece by its rule and with its reason."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from sizing.accessories import Accessory, accessories, load_bank
from sizing.demand import Demand
from sizing.evaluation import evaluate, rated
from sizing.requirement import Requirement
from sizing.supply import StepDown
from tests.sizing.composition_cast import HEATER, PUMP, a_demand, a_requirement, a_set


def found_with(
    job: Requirement, demand: Demand | None = None, **changes: Any
) -> dict[str, Accessory]:
    """Accessories by code for a 60 kW set with changes."""
    found = evaluate(a_set(60, **changes), demand or a_demand(job), job)
    return {one.code: one for one in accessories(found, job)}


def test_a_plain_job_takes_its_cord_and_nothing_for_the_start() -> None:
    found = found_with(a_requirement())
    assert "remote_start_cable" not in found
    assert "auxiliary_tank" not in found
    assert "cable_ramp" not in found


def test_every_accessory_has_a_reason() -> None:
    job = a_requirement({**PUMP, "float_switch": True}, site={"crossing": True})
    found = found_with(job, tank_l=30.0)
    assert {"remote_start_cable", "cable_ramp", "auxiliary_tank"} <= set(found)
    assert all(one.why.endswith(".") and one.quantity >= 1 for one in found.values())


def test_a_float_switch_takes_a_remote_start_cable_of_the_leads_length() -> None:
    found = found_with(a_requirement({**PUMP, "float_switch": True}))
    assert found["remote_start_cable"].length_m == 10
    assert "Pump" in found["remote_start_cable"].why


@pytest.mark.parametrize(("transfer", "there"), [(True, True), (False, False)])
def test_transfer_equipment_calls_the_set(transfer: bool, there: bool) -> None:
    job = a_requirement(site={"feeds_building": True, "transfer_equipment": transfer})
    assert ("remote_start_cable" in found_with(job)) is there


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"cam_sets": 2}, "cam_lock_lead_set"),
        ({"cam_sets": 0}, "lug_connection"),
        ({"cam_sets": 0, "receptacles": {"L16-30": 1}}, "cord"),
        ({"cam_sets": 0, "lugs": False}, "cord"),
    ],
)
def test_leads_end_on_what_the_set_has(changes: dict[str, Any], code: str) -> None:
    found = found_with(a_requirement({**HEATER, "nameplate": "8 kW 480 V 3 ph"}), **changes)
    assert code in found
    assert found[code].length_m == 10


def test_no_current_takes_no_leads() -> None:
    job = a_requirement(site={"crossing": True})
    found = found_with(job, replace(a_demand(job), leads=None))
    assert not {"cord", "cam_lock_lead_set", "lug_connection", "cable_ramp"} & set(found)


def test_an_auxiliary_tank_says_how_much_is_missing() -> None:
    tank = found_with(a_requirement(), tank_l=30.0)["auxiliary_tank"]
    assert tank.rating.endswith(" L")
    assert float(tank.rating.removesuffix(" L")) > 0


def test_an_evaluation_without_fuel_takes_no_tank() -> None:
    job = a_requirement()
    first = rated(a_set(60), a_demand(job), job)
    assert "auxiliary_tank" not in {one.code for one in accessories(first, job)}


@pytest.mark.parametrize(
    ("crossing", "public", "there"),
    [(True, False, True), (False, True, False), (None, True, True), (None, False, False),
     (None, None, False)],
)  # fmt: skip
def test_ramps_lie_where_people_cross(crossing: Any, public: Any, there: bool) -> None:
    site = {"crossing": crossing, "public_nearby": public}
    assert ("cable_ramp" in found_with(a_requirement(site=site))) is there


def test_short_receptacles_take_a_box_or_a_splitter() -> None:
    lamp = {"name": "Lamp", "kind": "lamp", "nameplate": "500 W LED 120 V 1 ph"}
    plugs = {"plugs": ["5-20"] * 8 + ["L14-30", "L14-30"]}
    job = a_requirement(lamp, supply="120/240", site=plugs)
    found = found_with(job, receptacles={"5-20": 2, "14-50": 1, "L14-30": 1})
    assert found["distribution_box"].quantity >= 1
    assert "fed from" in found["distribution_box"].rating
    assert "distribution_box" not in found_with(a_requirement(lamp, supply="120/240"))


def test_a_splitter_shares_the_one_receptacle_of_its_kind() -> None:
    lamp = {"name": "Lamp", "kind": "lamp", "nameplate": "500 W LED 120 V 1 ph"}
    job = a_requirement(lamp, supply="120/240", site={"plugs": ["TT-30", "TT-30"]})
    found = found_with(job, receptacles={"TT-30": 1})
    assert found["splitter"].quantity == 1


def test_the_transformer_is_that_of_the_supply_plan() -> None:
    job = a_requirement()
    loads = tuple(replace(one, via="transformer") for one in a_demand(job).loads)
    step_down = StepDown(15, 3, "480Y/277", "208Y/120", 0.4, 75.0, 12.0)
    found = found_with(job, replace(a_demand(job), loads=loads, step_down=step_down))
    assert found["step_down_transformer"].rating == "15 kVA"
    assert "480Y/277 becomes 208Y/120" in found["step_down_transformer"].why


def test_hard_wired_leads_or_a_building_may_want_an_electrode() -> None:
    small, corded = {**HEATER, "nameplate": "3 kW 480 V 3 ph"}, {"L16-30": 1}
    assert "ground_rod_kit" in found_with(a_requirement({**HEATER, "quantity": 4}))
    assert "ground_rod_kit" in found_with(a_requirement(small))  # no receptacle takes its cord
    assert "ground_rod_kit" not in found_with(a_requirement(small), receptacles=corded)
    building = {"feeds_building": True, "transfer_equipment": True}
    assert "ground_rod_kit" in found_with(a_requirement(small, site=building), receptacles=corded)


@pytest.mark.parametrize(("tank_l", "there"), [(208.0, False), (209.0, True)])
def test_a_tank_above_55_gallons_takes_a_spill_kit(tank_l: float, there: bool) -> None:
    assert ("spill_kit" in found_with(a_requirement(), tank_l=tank_l)) is there


def test_a_load_bank_lifts_the_mean_to_30_percent() -> None:
    job = a_requirement()
    found = evaluate(a_set(200), a_demand(job), job)
    bank = load_bank(found)
    assert bank is not None
    missing_kw = 60 - found.demand.profile.mean_kw
    assert missing_kw <= float(bank.rating.removesuffix(" kW")) < missing_kw + 1
    assert load_bank(evaluate(a_set(30), a_demand(job), job)) is None


def test_a_bank_built_into_the_set_is_enough() -> None:
    job = a_requirement()
    assert load_bank(evaluate(a_set(200, load_bank_kw=50.0), a_demand(job), job)) is None
