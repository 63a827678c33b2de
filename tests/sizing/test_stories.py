"""The six stories of the demo come out as their expected files say."""

from __future__ import annotations

from typing import Any

import pytest

from demo_fixtures import expected, fleet_path, story, story_names
from sizing import read_fleet, read_requirement, recommend

FLEET = read_fleet(fleet_path())
NAMES = story_names()


def told(name: str) -> dict[str, Any]:
    """What an expected file holds, out of the result of a story."""
    found = recommend(read_requirement(story(name)), FLEET).document()
    chosen = found["recommendation"]
    asked = [one for one in found["findings"] if one["severity"] == "needs_person"]
    return {
        "outcome": found["outcome"],
        "provisional": chosen["provisional"],
        "sets": [{"code": s["code"], "quantity": s["quantity"]} for s in chosen["sets"]],
        "supply": chosen["supply"],
        "accessories": [one["code"] for one in chosen["accessories"]],
        "alternatives": [one["kind"] for one in found["alternatives"]],
        "needs_person": [one["code"] for one in asked],
        "questions": [one["question"] for one in asked],
    }


def test_there_are_six_stories() -> None:
    assert NAMES == [
        "contradictory_nameplate", "dewatering", "emergency_shelter", "event_lighting",
        "jobsite_trailer", "unsure_voltage",
    ]  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_a_story_comes_out_as_expected(name: str) -> None:
    assert told(name) == expected(name)


@pytest.mark.parametrize("name", ["dewatering", "jobsite_trailer", "event_lighting"])
def test_a_clear_story_is_recommended(name: str) -> None:
    assert expected(name)["outcome"] == "recommended"


@pytest.mark.parametrize(
    ("name", "code"),
    [("unsure_voltage", "supply_unsure"), ("contradictory_nameplate", "nameplate_contradiction")],
)
def test_a_story_in_doubt_goes_to_a_person_with_a_question(name: str, code: str) -> None:
    said = expected(name)
    assert said["outcome"] == "needs_person"
    assert code in said["needs_person"]
    assert all(said["questions"])


def test_metal_halide_lamps_ask_for_a_stiffer_set_than_led() -> None:
    """The same pump beside discharge lamps, which a dip of more than 10 % puts out."""
    job = story("dewatering")
    job["loads"][1]["nameplate"] = "1000 W metal halide 480 V 1 ph"
    halide = recommend(read_requirement(job), FLEET)
    led = recommend(read_requirement(story("dewatering")), FLEET)
    assert halide.options[0].rated_kw > led.options[0].rated_kw
