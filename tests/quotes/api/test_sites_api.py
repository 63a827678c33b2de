"""A public body's own program keeps its sites and asks for power there; another's are not there."""

from __future__ import annotations

import json
from typing import Any

import pytest

from intake.api.keys import KeyRefused, key_make
from intake.models import ApiClient
from quotes.models import Need, PublicBody, StandingSite
from tests.config.api.caller import Caller, document, problem
from tests.intake.desk.cast import person
from tests.quotes.cast import NOW
from tests.quotes.emergency.conftest import SITE, body_made

ALL_OF_IT = ("sites_read", "sites_write", "emergency")
LOADS = [{"name": "Well pump", "kind": "pump", "nameplate": "25 hp 460 V 3 ph code G"}]
WELL: dict[str, Any] = {**SITE, "main_breaker_a": 200, "loads": LOADS}


@pytest.fixture
def alder(company: None) -> PublicBody:
    return body_made()


@pytest.fixture
def county(alder: PublicBody) -> Caller:
    return Caller(name="county", scopes=ALL_OF_IT, organisation=alder.organisation)


@pytest.fixture
def birch(alder: PublicBody) -> Caller:
    """The program of another body, which may do just as much with its own."""
    other = body_made("Birch Township")
    return Caller(name="township", scopes=ALL_OF_IT, organisation=other.organisation)


@pytest.fixture
def well(county: Caller) -> Any:
    return document(county.make("sites", WELL, once="site-well-3"), 201)


def test_a_site_is_added_once_and_read_as_it_was_said(county: Caller, well: Any) -> None:
    again = county.make("sites", WELL, once="site-well-3")
    assert document(again, 201) == well
    path = again["Location"].removeprefix("/api/v1/")
    assert document(county.get(path)) == well
    assert document(county.get("sites"))["items"] == [well]
    assert (well["key"], well["critical"], well["main_breaker_a"]) == ("WELL-3", False, 200)
    assert well["lead_length"] == {"value": pytest.approx(75 * 0.3048, abs=0.05), "unit": "m"}
    assert (well["loads"][0]["name"], well["loads"][0]["priority"]) == ("Well pump", 1)
    assert StandingSite.objects.count() == 1


def test_a_change_needs_the_version_that_stands_and_leaves_the_rest(
    county: Caller, well: Any
) -> None:
    path = f"sites/{well['id']}"
    problem(county.call("PATCH", path, {"name": "Well 3"}), 428, "precondition_required")
    changed = county.call("PATCH", path, {"name": "Well 3"}, seen='"1"')
    assert {**document(changed), "version": 1, "name": "Well house 3"} == well
    assert changed["ETag"] == '"2"'
    problem(county.call("PATCH", path, {"name": "X"}, seen='"1"'), 412, "precondition_failed")
    assert StandingSite.objects.get().name == "Well 3"


def test_every_problem_is_named_at_once_and_nothing_is_kept(county: Caller) -> None:
    wrong = {**WELL, "zip": "00000", "lead_length": "a stroll", "night_phone": "call me",
             "loads": [{"name": "Pump", "nameplate": "15 hp 460 V 999 ph"}]}  # fmt: skip
    found = problem(county.make("sites", wrong), 422, "fields_refused")
    named = {error["pointer"] for error in found["errors"]}
    assert named == {"#/zip", "#/lead_length", "#/night_phone", "#/loads/0/nameplate"}
    assert not StandingSite.objects.exists()


@pytest.mark.parametrize("key", ["WELL-3", "a b"])
def test_a_code_is_the_bodys_own_and_there_once(county: Caller, well: Any, key: str) -> None:
    found = problem(county.make("sites", {**WELL, "key": key}), 422, "fields_refused")
    assert [error["pointer"] for error in found["errors"]] == ["#/key"]


def test_another_bodys_site_is_not_there(birch: Caller, well: Any) -> None:
    path = f"sites/{well['id']}"
    assert document(birch.get("sites"))["items"] == []
    problem(birch.get(path), 404, "not_found")
    problem(birch.call("PATCH", path, {"name": "Ours"}, seen="*"), 404, "not_found")
    problem(birch.call("PUT", f"{path}/review", seen="*"), 404, "not_found")
    problem(birch.call("DELETE", path, seen="*"), 404, "not_found")
    asked = {"sites": ["WELL-3"], "need_in": "6"}
    problem(birch.make("sites/needs", asked), 422, "fields_refused")
    assert document(birch.make("sites", WELL), 201)["body"] == "Birch Township"
    assert StandingSite.objects.filter(name="Well house 3").count() == 2


def test_the_desk_reads_all_sites_and_changes_none(
    county: Caller, birch: Caller, well: Any
) -> None:
    document(birch.make("sites", WELL), 201)
    desk = Caller(name="desk", scopes=("cases",), acts_as=person("rae", "rep"))
    assert len(document(desk.get("sites"))["items"]) == 2
    problem(desk.call("PATCH", f"sites/{well['id']}", {}, seen="*"), 403, "permission_denied")


def test_reading_alone_changes_nothing(alder: PublicBody, well: Any) -> None:
    reader = Caller(name="map", scopes=("sites_read",), organisation=alder.organisation)
    assert document(reader.get("sites"))["items"] == [well]
    for refused in (
        reader.make("sites", WELL),
        reader.call("DELETE", f"sites/{well['id']}", seen="*"),
        reader.make("sites/needs", {"sites": ["WELL-3"], "need_in": "6"}),
    ):
        problem(refused, 403, "permission_denied")


def test_a_site_is_reviewed_and_retired_and_its_code_comes_back(county: Caller, well: Any) -> None:
    path = f"sites/{well['id']}"
    assert document(county.call("PUT", f"{path}/review", seen='"1"'))["reviewed_on"]
    assert county.call("DELETE", path, seen='"1"').status_code == 204
    problem(county.get(path), 404, "not_found")
    back = document(county.make("sites", {**WELL, "name": "Well house 3, new"}), 201)
    assert (back["id"], back["name"]) == (well["id"], "Well house 3, new")


def test_power_is_asked_for_ticked_sites_once_and_then_they_stay(county: Caller, well: Any) -> None:
    asked = {"sites": ["WELL-3"], "need_in": "6"}
    first = document(county.make("sites/needs", asked), 201)
    again = document(county.make("sites/needs", asked), 201)
    assert first == again
    assert Need.objects.count() == 1
    (need,) = document(county.get("sites/needs"))["items"]
    assert (need["site"], need["state"]) == ("WELL-3", "needed")
    problem(county.call("DELETE", f"sites/{well['id']}", seen="*"), 409, "site_in_use")


def test_an_unknown_site_among_the_ticked_is_named(county: Caller, well: Any) -> None:
    asked = {"sites": ["WELL-3", "WELL-9"], "need_in": "6"}
    found = problem(county.make("sites/needs", asked), 422, "fields_refused")
    assert [error["pointer"] for error in found["errors"]] == ["#/sites/1"]
    assert not Need.objects.exists()


TABLE = """key,name,facility_kind,zip,supply,transfer_equipment,contact_name,night_phone
WELL-3,Well house 3,water,80701,480Y/277,manual_switch,Nia Demo,970 555 0171
WELL-4,Well house 4,water,80701,480Y/277,manual_switch,Nia Demo,970 555 0171
WELL-5,Well house 5,castle,00000,480Y/277,manual_switch,Nia Demo,970 555 0171
"""


def test_a_table_is_tried_first_and_its_good_rows_are_brought_in_once(
    county: Caller, birch: Caller, well: Any
) -> None:
    tried = document(county.make("sites/tables", {"csv": TABLE}), 201)
    assert (tried["good"], tried["wrong"]) == (2, 1)
    assert [row["doing"] for row in tried["rows"]] == ["same", "added", ""]
    assert {one["column"] for one in tried["rows"][2]["problems"]} == {"facility_kind", "zip"}
    assert StandingSite.objects.count() == 1  # a dry run
    path = f"sites/tables/{tried['id']}"
    problem(birch.get(path), 404, "not_found")
    problem(birch.make(f"{path}/taking"), 404, "not_found")
    for _again in range(2):
        left = document(county.make(f"{path}/taking", once="take-0001"), 201)
        assert (left["taken"], [row["key"] for row in left["rows"]]) == (2, ["WELL-5"])
    assert document(county.get(path))["wrong"] == 1
    assert StandingSite.objects.count() == 2


def test_what_is_no_table_is_refused(county: Caller) -> None:
    problem(county.make("sites/tables", {"csv": "hello"}), 422, "file_refused")


def test_a_key_for_sites_names_its_body_and_a_client_stays_with_it(alder: PublicBody) -> None:
    with pytest.raises(KeyRefused):
        key_make(client_name="x", scopes=["sites_read"], now=NOW)
    assert not ApiClient.objects.exists()
    own = {"client_name": "x", "scopes": ["sites_read"], "now": NOW}
    key_make(**own, organisation=alder.organisation)  # type: ignore[arg-type]
    other = body_made("Birch Township")
    with pytest.raises(KeyRefused, match="belongs to Alder"):
        key_make(**own, organisation=other.organisation)  # type: ignore[arg-type]
    assert ApiClient.objects.get().organisation == alder.organisation


def test_a_bodys_express_request_counts_as_the_bodys(county: Caller, alder: PublicBody) -> None:
    from tests.quotes.api.test_emergency_api import ASKED

    made = document(county.make("emergency-requests", ASKED), 201)
    request = Need.objects.get(request__reference=made["reference"]).request_or_fail
    assert request.organisation == alder.organisation
    assert json.loads(county.get("key").content)["organisation"] == str(alder)
