"""Power asked for in an emergency by a program: taken at once, once, with the duty rep called."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from intake.api.documents import moment
from intake.models import Case, HireRequest, WebhookDelivery
from intake.webhooks.endpoints import endpoint_make
from quotes.emergency.paging.calls import call_back_record
from quotes.models import Need
from tests.config.api.caller import Caller, document, problem
from tests.intake.desk.cast import person
from tests.quotes.cast import NOW

ASKED = {
    "facility_kind": "shelter", "need_in": "6", "life_support": "no", "load": "60 kW",
    "supply": "208Y/120", "transfer_equipment": "manual_switch", "place": "High school, Mill Road",
    "zip": "80424", "company": "Elk Fork County", "contact_name": "Ida Cole",
    "phone": "970 555 0199",
}  # fmt: skip


@pytest.fixture
def county(caller: Caller) -> Caller:
    return Caller(name="county office", scopes=("emergency", "requests"))


def test_it_is_taken_once_with_its_case_and_its_need(county: Caller) -> None:
    endpoint_make(
        name="duty", url="https://hooks.example.com/", kinds=["emergency.requested"],
        actor=person("mia", "manager"), now=NOW,
    )  # fmt: skip
    first = document(county.make("emergency-requests", ASKED, once="storm-0001"), 201)
    again = document(county.make("emergency-requests", ASKED, once="storm-0001"), 201)
    assert first == again
    assert (HireRequest.objects.count(), Need.objects.count(), Case.objects.count()) == (1, 1, 1)
    assert first["needs_person"] is True
    path = f"emergency-requests/{first['reference']}"
    assert document(county.get(path)) == first
    assert document(county.get("emergency-requests"))["items"] == [first]
    assert document(county.get(f"requests/{first['reference']}"))["status"] == "in_review"
    assert WebhookDelivery.objects.filter(kind="emergency.requested").count() == 1


def test_it_says_whether_and_when_the_promised_call_was_made(county: Caller) -> None:
    made = document(county.make("emergency-requests", ASKED), 201)
    path = f"emergency-requests/{made['reference']}"
    assert made["call_back_by"] is not None
    assert made["called_at"] is None
    before = county.get(path)["ETag"]
    need, rep = Need.objects.get(), person("rae", "rep")
    call_back_record(need_id=need.pk, note="Spoke", actor=rep, now=NOW + timedelta(minutes=9))
    after = county.get(path)
    assert document(after) == {**made, "called_at": moment(NOW + timedelta(minutes=9))}
    assert after["ETag"] != before


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"facility_kind": "castle"}, "#/facility_kind"),
        ({"zip": "00000"}, "#/zip"),
        ({"load": "60 miles"}, "#/load"),
        ({"need_in": "at", "need_at": "soon"}, "#/need_at"),
        ({"transfer_equipment": "a hope"}, "#/transfer_equipment"),
        ({"phone": "x"}, "#/phone"),
    ],
)
def test_what_cannot_be_is_named_and_nothing_is_kept(
    county: Caller, changes: Any, pointer: str
) -> None:
    body = {**ASKED, **changes}
    found = problem(county.make("emergency-requests", body), 422, "fields_refused")
    assert pointer in {error["pointer"] for error in found["errors"]}
    assert not Need.objects.exists()


def test_anothers_emergency_does_not_exist_and_the_scope_is_needed(
    county: Caller, caller: Caller
) -> None:
    made = document(county.make("emergency-requests", ASKED), 201)
    other = Caller(name="other county", scopes=("emergency",))
    problem(other.get(f"emergency-requests/{made['reference']}"), 404, "not_found")
    problem(caller.make("emergency-requests", ASKED), 403, "permission_denied")


def test_the_desk_reads_standing_sites(company: None) -> None:
    desk = Caller(name="desk", scopes=("cases",), acts_as=person("rae", "rep"))
    assert document(desk.get("sites")) == {"items": [], "next_cursor": None}
    problem(desk.get("sites/1"), 404, "not_found")
