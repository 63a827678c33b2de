"""Requests of a client: made, answered, sent, once each and by nobody else."""

from __future__ import annotations

from typing import Any

import pytest

from intake.models import (
    ApiRequest,
    Case,
    HireRequest,
    IdempotencyRecord,
    OutboxMessage,
    RequestLoad,
)
from tests.config.api.caller import ANSWERS, LOADS, WHOLE, Caller, document, problem


def made(caller: Caller, body: Any = WHOLE) -> Any:
    return document(caller.make("requests", body), 201)


def test_a_whole_request_is_made_in_one_call_and_nothing_is_open(caller: Caller) -> None:
    found = made(caller)
    assert found["open_steps"] == []
    assert [load["name"] for load in found["loads"]] == ["Sump pump", "Flood light"]
    assert found["answers"]["zip"] == "80424"
    assert found["status"] == "draft"


def test_the_answer_says_where_it_is_and_which_version(caller: Caller) -> None:
    response = caller.make("requests", WHOLE)
    again = caller.get(response["Location"].removeprefix("/api/v1/"))
    assert document(again)["reference"] == document(response, 201)["reference"]
    assert again["ETag"] == response["ETag"]


def test_a_request_goes_from_its_first_answer_to_a_quote_being_priced(caller: Caller) -> None:
    found = made(caller)
    address = f"requests/{found['reference']}"
    sent = document(caller.make(f"{address}/submission", seen=f'"{found["version"]}"'))
    assert sent["status"] == "pricing"
    assert sent["outcome"] == "recommended"
    assert OutboxMessage.objects.filter(topic="quotes.build_quote").count() == 1
    sizing = document(caller.get(f"{address}/sizing"))
    assert sizing["recommendation"]["sets"][0]["code"] == "T60"


def test_a_doubt_sends_the_request_to_a_rep_with_a_promise(caller: Caller) -> None:
    found = made(caller, {**WHOLE, "answers": {**ANSWERS, "supply": "unsure"}})
    seen = f'"{found["version"]}"'
    sent = document(caller.make(f"requests/{found['reference']}/submission", seen=seen))
    assert sent["status"] == "in_review"
    assert sent["promised_at"].endswith("Z")
    assert "supply_unsure" in {finding["code"] for finding in sent["findings"]}
    assert Case.objects.count() == 1


def test_what_is_not_complete_is_not_sent(caller: Caller) -> None:
    found = made(caller, {"application": "dewatering"})
    assert {step["step"] for step in found["open_steps"]} >= {"equipment", "site", "contact"}
    seen = f'"{found["version"]}"'
    response = caller.make(f"requests/{found['reference']}/submission", seen=seen)
    problem(response, 422, "answer_refused")


def test_all_answers_at_fault_are_named_and_none_is_saved(caller: Caller) -> None:
    body = {
        **WHOLE,
        "answers": {"zip": "1", "altitude": "12 kg", "ambient": "90", "no_such": 1, "plugs": {}},
    }
    found = problem(caller.make("requests", body), 422, "fields_refused")
    assert {error["pointer"] for error in found["errors"]} == {
        "#/answers/zip", "#/answers/altitude", "#/answers/no_such", "#/answers/plugs",
    }  # fmt: skip
    assert not HireRequest.objects.exists()


def test_an_answer_that_is_not_asked_for_is_refused(caller: Caller) -> None:
    body = {"application": "event_lighting", "answers": {"inflow": "200 gpm"}}
    found = problem(caller.make("requests", body), 422, "fields_refused")
    assert found["errors"][0]["code"] == "not_asked"


def test_dates_that_disagree_are_refused(caller: Caller) -> None:
    answers = {**ANSWERS, "hire_start": "2027-06-14", "hire_end": "2027-06-01"}
    found = problem(caller.make("requests", {**WHOLE, "answers": answers}), 422, "fields_refused")
    assert found["errors"][0]["pointer"] == "#/answers/hire_end"


def test_answers_are_changed_by_who_saw_the_last_version(caller: Caller) -> None:
    found = made(caller)
    address = f"requests/{found['reference']}/answers"
    first = caller.call("PATCH", address, {"altitude": "9000 ft"}, seen=f'"{found["version"]}"')
    assert document(first)["answers"]["altitude"] == "9000 ft"
    late = caller.call("PATCH", address, {"altitude": "1 ft"}, seen=f'"{found["version"]}"')
    problem(late, 412, "precondition_failed")
    problem(caller.call("PATCH", address, {"altitude": "1 ft"}), 428, "precondition_required")
    assert document(first)["version"] > found["version"]


def test_rows_are_added_changed_and_taken_out(caller: Caller) -> None:
    found = made(caller, {"application": "dewatering", "loads": LOADS[:1]})
    address = f"requests/{found['reference']}/loads"
    added = caller.make(address, LOADS[1], seen=f'"{found["version"]}"')
    load = document(added, 201)
    changed = caller.call(
        "PUT", f"{address}/{load['id']}", {**LOADS[1], "quantity": 6}, seen=added["ETag"]
    )
    assert document(changed)["quantity"] == 6
    gone = caller.call("DELETE", f"{address}/{load['id']}", seen=changed["ETag"])
    assert gone.status_code == 204
    assert [row.name for row in RequestLoad.objects.all()] == ["Sump pump"]


def test_what_a_program_leaves_out_of_a_row_counts_as_unsure(caller: Caller) -> None:
    found = made(caller, {"application": "dewatering", "loads": [{"kind": "pump"}]})
    (load,) = found["loads"]
    assert (load["nameplate"], load["starting"], load["float_switch"]) == ("unsure",) * 3


@pytest.mark.parametrize(
    ("load", "pointer"),
    [
        ({"kind": "pump", "quantity": 501}, "#/loads/0/quantity"),
        ({"kind": "spaceship"}, "#/loads/0/kind"),
        ({"kind": "lamp", "float_switch": True}, "#/loads/0/float_switch"),
        ({"kind": "pump", "nameplate": "lorem ipsum"}, "#/loads/0/nameplate"),
    ],
)
def test_a_row_at_fault_is_named(load: dict[str, Any], pointer: str, caller: Caller) -> None:
    body = {"application": "dewatering", "loads": [load]}
    found = problem(caller.make("requests", body), 422, "fields_refused")
    assert pointer in {error["pointer"] for error in found["errors"]}


def test_nobody_else_finds_the_request(caller: Caller, other: Caller) -> None:
    found = made(caller)
    address = f"requests/{found['reference']}"
    seen = f'"{found["version"]}"'
    problem(other.get(address), 404, "not_found")
    problem(other.get(f"{address}/sizing"), 404, "not_found")
    problem(other.get(f"{address}/quote"), 404, "not_found")
    problem(
        other.call("PATCH", f"{address}/answers", {"zip": "80424"}, seen=seen), 404, "not_found"
    )
    problem(other.make(f"{address}/submission", seen=seen), 404, "not_found")
    assert document(other.get("requests"))["items"] == []


def test_a_sent_request_takes_no_more_answers(caller: Caller) -> None:
    found = made(caller)
    address = f"requests/{found['reference']}"
    sent = caller.make(f"{address}/submission", seen=f'"{found["version"]}"')
    late = caller.call("PATCH", f"{address}/answers", {"zip": "80216"}, seen=sent["ETag"])
    problem(late, 409, "move_refused")


# ---- once ----------------------------------------------------------------------------------


def test_the_same_call_again_makes_nothing_and_is_answered_the_same(caller: Caller) -> None:
    first, second = (caller.make("requests", WHOLE, once="order-000017") for _ in range(2))
    assert first.content == second.content
    assert second["Idempotent-Replayed"] == "true"
    assert (first["Location"], first["ETag"]) == (second["Location"], second["ETag"])
    assert HireRequest.objects.count() == 1


def test_the_key_with_another_body_is_refused(caller: Caller) -> None:
    caller.make("requests", WHOLE, once="order-000017")
    response = caller.make("requests", {"application": "other"}, once="order-000017")
    problem(response, 422, "idempotency_key_reused")


def test_the_key_of_another_client_is_another_key(caller: Caller, other: Caller) -> None:
    found = [made_with(one, "order-000017") for one in (caller, other)]
    assert found[0]["reference"] != found[1]["reference"]


def made_with(caller: Caller, once: str) -> Any:
    return document(caller.make("requests", WHOLE, once=once), 201)


def test_a_refused_call_leaves_its_key_free(caller: Caller) -> None:
    problem(
        caller.make("requests", {"application": "picnic"}, once="order-000018"),
        422, "fields_refused",
    )  # fmt: skip
    made_with(caller, "order-000018")
    assert IdempotencyRecord.objects.count() == 1


@pytest.mark.parametrize("given", ["", "short", '"unclosed-key', "sp ace in it", "ü" * 10])
def test_a_creating_call_without_a_right_key_is_refused(given: str, caller: Caller) -> None:
    response = caller.client.post(
        "/api/v1/requests", WHOLE, content_type="application/json",
        headers={"Authorization": f"Bearer {caller.text}", "Idempotency-Key": given},
    )  # fmt: skip
    problem(response, 400, "idempotency_key_missing")


def test_sending_twice_with_one_key_sends_once(caller: Caller) -> None:
    found = made(caller)
    address, seen = f"requests/{found['reference']}/submission", f'"{found["version"]}"'
    first, second = (caller.make(address, seen=seen, once="send-000001") for _ in range(2))
    assert first.content == second.content
    assert OutboxMessage.objects.filter(topic="quotes.build_quote").count() == 1


# ---- lists ---------------------------------------------------------------------------------


def test_pages_hold_every_request_once(caller: Caller) -> None:
    references = {made(caller, {"application": "other"})["reference"] for _ in range(5)}
    found, cursor = [], ""
    while cursor is not None:
        page = document(caller.get(f"requests?limit=2{f'&cursor={cursor}' if cursor else ''}"))
        found += [row["reference"] for row in page["items"]]
        cursor = page["next_cursor"]
    assert len(found) == len(set(found)) == 5
    assert set(found) == references
    assert ApiRequest.objects.count() == 5


@pytest.mark.parametrize(
    "query", ["limit=0", "limit=101", "limit=x", "cursor=!!", "cursor=abc", "cursor=LTE"]
)
def test_a_page_that_cannot_be_is_refused(query: str, caller: Caller) -> None:
    problem(caller.get(f"requests?{query}"), 422, "fields_refused")


def test_a_list_asks_the_database_as_often_for_many_as_for_few(
    caller: Caller, django_assert_num_queries: Any
) -> None:
    for _ in range(4):
        made(caller, {"application": "other"})
    caller.get("requests")
    with django_assert_num_queries(3):  # the key, its client, the page
        caller.get("requests")


def test_the_questions_tell_what_may_be_answered(caller: Caller) -> None:
    found = document(caller.get("questions"))
    keys = {question["key"] for step in found["steps"] for question in step["questions"]}
    assert set(ANSWERS) <= keys
    assert {"pump", "lamp"} <= set(found["loads"])
