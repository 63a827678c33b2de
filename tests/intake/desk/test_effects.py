"""What an answer would do: by sizing for each, against the method asked directly."""

from __future__ import annotations

from typing import Any

import pytest

from demo_fixtures import story
from intake.desk.difference import difference, failing, figure
from intake.desk.effects import candidates, effects
from sizing import read_requirement, recommend
from sizing.requirement import SUPPLIES
from tests.intake.desk.cast import demo_fleet

UNSURE = story("unsure_voltage")


def sized(document: dict[str, Any]) -> dict[str, Any]:
    return recommend(read_requirement(document), demo_fleet()).document()


def finding(code: str, subject: str, **evidence: Any) -> dict[str, Any]:
    return {"code": code, "subject": subject, "evidence": evidence}


def test_an_unsure_voltage_is_tried_on_all_four_systems() -> None:
    found = effects(finding("supply_unsure", "supply"), UNSURE, demo_fleet())
    assert [effect.answer for effect in found] == list(SUPPLIES)
    for effect in found:
        direct = sized({**UNSURE, "supply": effect.answer})
        assert effect.clear == (direct["outcome"] == "recommended")


def test_a_three_phase_pump_cannot_be_on_single_phase() -> None:
    found = effects(finding("supply_unsure", "supply"), UNSURE, demo_fleet())
    single = next(effect for effect in found if effect.answer == "120/240")
    assert not single.clear
    assert "phase" in single.words


def test_a_range_is_tried_at_its_ends_and_its_middle() -> None:
    asked = finding(
        "altitude_unsure", "site.altitude", low_m=1000.0, likely_m=2000.0, high_m=4000.0
    )
    tried = candidates(asked, UNSURE)
    assert [c.document["site"]["altitude"] for c in tried] == ["1000.0 m", "2000.0 m", "4000.0 m"]
    assert tried[0].answer == "3,281 ft (1,000 m)"


def test_a_contradiction_is_tried_without_each_of_its_figures() -> None:
    document = story("contradictory_nameplate")
    index = next(n for n, load in enumerate(document["loads"]) if "hp" in str(load["nameplate"]))
    tried = candidates(finding("nameplate_contradiction", f"loads[{index}].nameplate"), document)
    names = {candidate.answer for candidate in tried}
    assert {"the power in hp is wrong", "the current is wrong"} <= names


def test_the_requirement_itself_is_never_changed() -> None:
    before = repr(UNSURE)
    candidates(finding("supply_unsure", "supply"), UNSURE)
    candidates(finding("start_assumed", "loads[0].starting"), UNSURE)
    assert repr(UNSURE) == before


@pytest.mark.parametrize("subject", ["nowhere", "loads[99].nameplate", "loads[0].name", "site.zip"])
def test_a_finding_without_a_short_list_of_answers_has_no_effects(subject: str) -> None:
    assert candidates(finding("something", subject), UNSURE) == []


def test_a_result_differs_from_itself_in_nothing() -> None:
    result = sized({**UNSURE, "supply": "480Y/277"})
    assert difference(result, result) == []


def test_a_difference_names_what_changed_and_only_that() -> None:
    low = sized({**UNSURE, "supply": "480Y/277"})
    high = sized({**UNSURE, "supply": "208Y/120"})
    labels = [change.label for change in difference(low, high)]
    assert "Supply" in labels
    assert len(labels) == len(set(labels))


def test_a_warning_is_no_failing_check() -> None:
    checks = [
        {"name": "light_load", "passed": False, "binding": False},
        {"name": "voltage_dip", "passed": False, "binding": True},
    ]
    assert failing({"recommendation": {"checks": checks}}) == ["Voltage dip"]


@pytest.mark.parametrize(
    ("value", "unit", "written"),
    [(16.74, "%", "16.7 %"), (3.0, "%", "3 %"), (1234.5, "L", "1,234 L"), (None, "kW", "–"),
     ("cam_lock", "", "cam lock"), (True, "", "yes"),
     ({}, "", "–"), ({"480Y/277": 1, "208Y/120": 0}, "", "480Y/277: 1, 208Y/120: 0"),
     ([20, 30.5], "kW", "20 kW, 30.5 kW")],
)  # fmt: skip
def test_figures_are_written_as_a_rep_reads_them(value: Any, unit: str, written: str) -> None:
    assert figure(value, unit) == written
