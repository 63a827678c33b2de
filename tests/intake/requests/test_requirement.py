"""The document that a request becomes: the design's own example, and what is left out of it."""

import json

import pytest

from intake.models import HireRequest
from intake.requests.requirement import requirement_document
from sizing.requirement import read_requirement
from tests.intake.visitor import ROOT, Visitor

STORY = ROOT / "demo_fixtures" / "stories" / "dewatering.json"


def document_of(customer: Visitor) -> dict:
    return requirement_document(HireRequest.objects.get(reference=customer.reference))


@pytest.mark.django_db
def test_the_demo_story_typed_page_by_page_is_the_demo_document(demo_fleet: None) -> None:
    customer = Visitor()
    customer.fill()
    story = json.loads(STORY.read_text())
    typed = read_requirement(document_of(customer))
    told = read_requirement(story)
    assert typed.supply == told.supply
    assert typed.hire == told.hire
    assert typed.loads[0].nameplate == told.loads[0].nameplate
    assert typed.site.altitude_m == told.site.altitude_m
    assert typed.site.ambient_c.likely == pytest.approx(told.site.ambient_c.likely)
    assert typed.site.noise_limit_dba == told.site.noise_limit_dba


@pytest.mark.django_db
def test_answers_that_no_longer_apply_are_not_sent(demo_fleet: None) -> None:
    customer = Visitor()
    customer.fill()
    assert "sump" in document_of(customer)["site"]
    customer.post("job/", {"application": "other"})
    document = document_of(customer)
    assert document["application"] == "other"
    assert "sump" not in document["site"]


@pytest.mark.django_db
def test_not_sure_is_sent_as_such_and_half_known_dates_are_left_out(demo_fleet: None) -> None:
    customer = Visitor()
    dates = {"hire_start": "2027-06-01", "hire_end__unsure": "1"}
    dates |= {"hours_per_day__unsure": "1", "refuel_every__unsure": "1"}
    customer.fill(voltage={"supply": "unsure"}, dates=dates)
    document = document_of(customer)
    assert document["supply"] == "unsure"
    assert document["site"]["hours_per_day"] == "unsure"
    assert "hire" not in document


@pytest.mark.django_db
def test_typical_equipment_goes_along_marked(customer: Visitor) -> None:
    customer.post(
        customer.load_page(),
        {
            "typical_code": "pump_5_hp",
            "quantity": "2",
            "float_switch": "no",
            "starting": "unsure",
            "name": "Spare pump",
        },
    )
    (load,) = document_of(customer)["loads"]
    assert load["nameplate"]["typical"] is True
    assert load["nameplate"]["hp"] == 5
    assert load["starting"] == "unsure"
    assert load["float_switch"] is False
