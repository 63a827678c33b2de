"""Sizing without storing: the same documents as the command line's."""

from __future__ import annotations

import json
from typing import Any

import pytest

from config.command import main
from demo_fixtures import story, story_names, story_path
from intake.models import HireRequest
from tests.config.api.caller import Caller, document, problem


@pytest.mark.parametrize("name", story_names())
def test_the_answer_is_the_document_of_the_command_line(
    name: str, caller: Caller, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["size", str(story_path(name))]) == 0
    expected = json.loads(capsys.readouterr().out)
    assert document(caller.call("POST", "sizing", story(name))) == expected
    assert not HireRequest.objects.exists()


def test_every_problem_of_a_document_is_named_with_its_pointer_and_code(caller: Caller) -> None:
    body = {
        "application": "picnic",
        "loads": [{"name": "Pump", "kind": "pump", "nameplate": "nonsense"}],
        "site": {"altitude": "12 kg"},
    }
    found = problem(caller.call("POST", "sizing", body), 422, "document_refused")
    pointers = {error["pointer"] for error in found["errors"]}
    assert {"#/application", "#/site/altitude"} <= pointers
    assert any(where.startswith("#/loads/0/nameplate") for where in pointers)
    assert all(error["code"] and error["detail"] for error in found["errors"])


def test_findings_carry_their_codes(caller: Caller) -> None:
    found = document(caller.call("POST", "sizing", story("contradictory_nameplate")))
    assert "nameplate_contradiction" in {finding["code"] for finding in found["findings"]}


def test_a_plate_comes_back_as_value_and_unit(caller: Caller) -> None:
    body = {"nameplate": "15 hp 460 V 3 ph 60 Hz 21 A code G", "kind": "pump"}
    read = document(caller.call("POST", "nameplates", body))["read"]
    assert read["hp"] == {"value": 15.0, "unit": "hp"}
    assert read["amps"] == {"value": [21.0], "unit": "A"}
    assert read["code_letter"] == "G"


def test_a_plate_says_what_its_kind_lacks(caller: Caller) -> None:
    found = document(caller.call("POST", "nameplates", {"nameplate": "15 hp", "kind": "pump"}))
    assert "voltage (V)" in found["missing"]


def test_a_plate_that_cannot_be_read_is_refused_with_what_to_do(caller: Caller) -> None:
    found = problem(
        caller.call("POST", "nameplates", {"nameplate": "lorem ipsum"}), 422, "nameplate_refused"
    )
    assert found["errors"][0]["code"] == "nothing_understood"


def sent_raw(caller: Caller, body: bytes) -> Any:
    """The answer to a body that no JSON writer would make."""
    return caller.client.generic(
        "POST", "/api/v1/sizing", body, content_type="application/json",
        headers={"Authorization": f"Bearer {caller.text}"},
    )  # fmt: skip


@pytest.mark.parametrize(
    ("body", "why"),
    [
        (b"{", "not JSON"),
        (b'{"a": NaN}', "no number"),
        (b'{"a": ' + b"9" * 5000 + b"}", "digits"),
        (b"\xff", "not UTF-8"),
    ],
)
def test_a_body_that_would_choke_something_is_a_bad_call(
    body: bytes, why: str, caller: Caller
) -> None:
    response = sent_raw(caller, body)
    problem(response, 400, "parse_error")


@pytest.mark.parametrize(
    ("body", "why"),
    [
        (b'{"a": "\\u0000"}', "NUL"),
        (b'{"a": "\\ud800"}', "surrogate"),
        (b'{"a": ' + b"[" * 40 + b"]" * 40 + b"}", "deep"),
        (b'{"a": [{"b": 1e301}]}', "too large"),
    ],
)
def test_json_that_cannot_be_kept_is_refused_with_the_reason(
    body: bytes, why: str, caller: Caller
) -> None:
    response = sent_raw(caller, body)
    (found,) = problem(response, 422, "fields_refused")["errors"]
    assert (found["pointer"], found["code"]) == ("#", "not_storable")
    assert why in found["detail"]


@pytest.mark.parametrize("body", [[], "text", 3, None])
def test_a_body_that_is_no_object_is_refused(body: object, caller: Caller) -> None:
    raw = json.dumps(body).encode()
    response = sent_raw(caller, raw)
    problem(response, 422, "fields_refused")


def test_too_long_a_body_is_refused(caller: Caller) -> None:
    body = {"nameplate": "x" * 2_600_000}
    problem(caller.call("POST", "nameplates", body), 413, "too_large")
