"""The intake's own doubts: people before figures."""

import pytest

from intake.questions.answers import Answers, Given
from intake.requests.doubts import intake_doubts

SURE = {
    "application": Given("emergency"),
    "facility": Given("store"),
    "life_support": Given("no"),
    "hire_start": Given("2027-06-01"),
    "hire_end": Given("2027-06-14"),
    "zip": Given("80424"),
}


def codes(**changed: Given) -> dict[str, str]:
    doubts = intake_doubts(Answers({**SURE, **changed}))
    return {doubt["code"]: doubt["severity"] for doubt in doubts}


def test_a_store_with_everything_known_raises_nothing() -> None:
    assert codes() == {}


@pytest.mark.parametrize("kind", ["medical", "rescue"])
def test_a_building_for_life_safety_always_goes_to_a_person(kind: str) -> None:
    assert codes(facility=Given(kind)) == {"life_safety": "needs_person"}


@pytest.mark.parametrize("depends", [Given("yes"), Given(unsure=True)])
def test_life_support_goes_to_a_person_also_where_unsure(depends: Given) -> None:
    assert codes(life_support=depends)["life_safety"] == "needs_person"


def test_a_set_of_the_building_is_a_warning() -> None:
    assert codes(standing_set=Given("yes")) == {"standing_set": "warning"}


def test_no_dates_or_no_place_go_to_a_person() -> None:
    found = codes(hire_end=Given(unsure=True), zip=Given(unsure=True))
    assert found == {"dates_unsure": "needs_person", "place_unsure": "needs_person"}


def test_other_applications_are_not_asked_about_life_support() -> None:
    assert "life_safety" not in codes(application=Given("dewatering"), facility=Given("medical"))
