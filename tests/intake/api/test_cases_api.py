"""The desk for programs: each acts as a person, with that person's rights and branches."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User

from intake.models import Case, Event, OutboxMessage
from tests.config.api.caller import Caller, document, problem
from tests.intake.desk.cast import person, shelter

REASON = {"state": "accepted", "reason": "Spoke with the site electrician."}


@pytest.fixture
def rep(db: None, demo_fleet: None) -> Caller:
    return Caller(name="desk tool", scopes=("cases",), acts_as=person("rae", "rep"))


@pytest.fixture
def case(rep: Caller) -> Any:
    """A shelter's case as the API gives it."""
    return document(rep.get(f"cases/{shelter().request.reference}"))


def settle(rep: Caller, case: Any, finding: Any, seen: str = "") -> Any:
    address = f"cases/{case['reference']}/findings/{finding['id']}/settlement"
    return rep.call("PUT", address, REASON, seen=seen or f'"{case["version"]}"')


def test_a_case_shows_its_findings_with_codes_and_what_is_missing(case: Any) -> None:
    assert case["state"] == "open"
    assert case["reason"] in {finding["code"] for finding in case["findings"]}
    assert case["missing"].startswith("Still to decide")


def test_settled_and_released_it_goes_to_pricing(rep: Caller, case: Any) -> None:
    for finding in case["findings"]:
        if finding["severity"] == "needs_person":
            case = document(settle(rep, case, finding))
    senior = Caller(name="senior's tool", scopes=("cases",), acts_as=person("sol", "senior_rep"))
    for finding in case["findings"]:
        address = f"cases/{case['reference']}/findings/{finding['id']}/second"
        if finding["state"] == "accepted" and case["missing"]:
            problem(rep.call("PUT", address, seen=f'"{case["version"]}"'), 403, "not_allowed")
            case = document(senior.call("PUT", address, seen=f'"{case["version"]}"'))
    assert case["missing"] == ""
    address = f"cases/{case['reference']}/release"
    released = document(rep.call("PUT", address, seen=f'"{case["version"]}"'))
    assert released["state"] == "released"
    assert OutboxMessage.objects.filter(topic="quotes.build_quote").count() == 1
    assert Event.objects.filter(kind="case_released", actor__username="rae").count() == 1


def test_what_is_not_settled_is_not_released(rep: Caller, case: Any) -> None:
    address = f"cases/{case['reference']}/release"
    problem(rep.call("PUT", address, seen=f'"{case["version"]}"'), 422, "not_settled")
    assert Case.objects.get().state == "open"


def test_who_comes_second_is_told_and_writes_nothing(rep: Caller, case: Any) -> None:
    finding = case["findings"][0]
    document(settle(rep, case, finding))
    problem(settle(rep, case, finding), 412, "precondition_failed")


def test_the_queue_is_paged_and_filtered(rep: Caller, case: Any) -> None:
    assert document(rep.get("cases?state=open"))["items"][0]["reference"] == case["reference"]
    assert document(rep.get("cases?state=released"))["items"] == []
    problem(rep.get("cases?state=sleeping"), 422, "fields_refused")


@pytest.mark.parametrize("name", ["", "Rae"])
def test_the_queue_names_an_owner_as_the_case_does(rep: Caller, case: Any, name: str) -> None:
    User.objects.filter(username="rae").update(first_name=name, last_name="")
    address = f"cases/{case['reference']}/owner"
    taken = document(rep.call("PUT", address, seen=f'"{case["version"]}"'))
    (line,) = document(rep.get("cases"))["items"]
    assert taken["owner"] == (name or "rae")
    assert line.items() <= taken.items()


def test_a_case_of_another_branch_does_not_exist(rep: Caller, demo_fleet: None) -> None:
    Case.objects.filter(pk=shelter().pk).update(branch_code="RIDGE")
    plains = person("pat", "rep", "PLAINS")
    program = Caller(name="plains tool", scopes=("cases",), acts_as=plains)
    problem(program.get(f"cases/{Case.objects.get().request.reference}"), 404, "not_found")
    assert document(program.get("cases"))["items"] == []


def test_a_viewers_program_reads_and_changes_nothing(case: Any) -> None:
    program = Caller(name="wall board", scopes=("cases",), acts_as=person("vi", "viewer"))
    document(program.get("cases"))
    problem(settle(program, case, case["findings"][0]), 403, "permission_denied")


def test_a_program_of_somebody_who_left_is_refused(rep: Caller, case: Any) -> None:
    User.objects.filter(username="rae").update(is_active=False)
    problem(rep.get("cases"), 403, "permission_denied")
