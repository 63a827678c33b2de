"""Keys: hashed, scoped, rotated, revoked."""

from __future__ import annotations

from datetime import timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from intake.api.keys import SCOPES, key_found, key_hash
from intake.models import ApiClient, ApiKey
from tests.config.api.caller import Caller, document, problem

NAMEPLATE = {"nameplate": "15 hp 460 V 3 ph 21 A"}


def said(*arguments: str) -> str:
    out = StringIO()
    call_command("api_key", *arguments, stdout=out)
    return out.getvalue().strip()


def test_without_a_key_nothing_is_answered(caller: Caller) -> None:
    response = caller.client.get("/api/v1/requests")
    problem(response, 401, "not_authenticated")
    assert response["WWW-Authenticate"].startswith("Bearer")


@pytest.mark.parametrize("text", ["swk_unknown", "", "two words"])
def test_a_key_that_is_not_known_is_refused(text: str, caller: Caller) -> None:
    caller.text = text
    problem(caller.get("requests"), 401, "authentication_failed")


def test_a_key_opens_only_its_scopes(db: None) -> None:
    caller = Caller(scopes=("sizing",))
    document(caller.call("POST", "nameplates", NAMEPLATE))
    problem(caller.get("requests"), 403, "permission_denied")


def test_the_key_itself_is_nowhere_in_the_database(caller: Caller) -> None:
    (row,) = ApiKey.objects.values()
    assert caller.text not in str(row)
    assert row["secret_hash"] == key_hash(caller.text)


def test_a_key_ends_with_its_time(caller: Caller) -> None:
    now = timezone.now()
    assert key_found(caller.text, now=now + timedelta(days=364))
    assert key_found(caller.text, now=now + timedelta(days=366)) is None


def test_rotation_lets_both_keys_work_for_the_overlap(caller: Caller) -> None:
    start = caller.text[:10]
    successor = Caller(name="x", text=said("rotate", start, "--overlap-hours", "2"))
    document(caller.get("requests"))
    document(successor.get("requests"))
    assert ApiClient.objects.count() == 1
    assert key_found(caller.text, now=timezone.now() + timedelta(hours=3)) is None
    assert key_found(successor.text, now=timezone.now() + timedelta(hours=3))


def test_a_revoked_key_ends_at_once(caller: Caller) -> None:
    said("revoke", caller.text[:10])
    problem(caller.get("requests"), 401, "authentication_failed")


def test_the_command_makes_a_key_that_works_and_lists_it(db: None) -> None:
    text = said("make", "yard office", "--scope", "sizing", "--scope", "requests")
    document(Caller(text=text).call("POST", "nameplates", NAMEPLATE))
    listed = said("list")
    assert "yard office" in listed
    assert "holds" in listed
    assert text not in listed


@pytest.mark.parametrize(
    "arguments",
    [
        ("make", "x", "--scope", "cases"),
        ("make", "x", "--scope", "cases", "--acts-as", "nobody"),
        ("make", "x", "--scope", "sizing", "--days", "0"),
        ("revoke", "swk_none"),
        ("rotate", "swk_none"),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence(db: None, arguments: Any) -> None:
    with pytest.raises(CommandError):
        said(*arguments)


def test_each_minute_has_its_calls_and_every_answer_says_how_many_are_left(
    caller: Caller, settings: Any
) -> None:
    settings.SETWRIGHT_API_CALLS_PER_MINUTE = 2
    first, _second, third = (caller.get("requests") for _ in range(3))
    assert first["RateLimit-Policy"] == '"minute";q=2;w=60'
    assert first["RateLimit"].startswith('"minute";r=1;t=')
    problem(third, 429, "quota_exceeded")
    left = int(third["RateLimit"].rpartition("t=")[2])
    assert int(third["Retry-After"]) >= left


def test_every_scope_says_what_it_opens() -> None:
    assert all(SCOPES.values())


def test_a_program_reads_and_rotates_its_own_key(caller: Caller) -> None:
    read = document(caller.get("key"))
    assert (read["client"], read["start"]) == ("site office", caller.text[:10])
    assert caller.text not in str(read)
    made = document(caller.make("key/rotation", {"overlap_hours": 1}, once="rotate-own-1"), 201)
    fresh = Caller(text=made["key"])
    assert document(fresh.get("key"))["scopes"] == read["scopes"]
    ends = document(caller.get("key"))["expires_at"]
    assert ends == (timezone.now() + timedelta(hours=1)).isoformat().replace("+00:00", "Z")


def test_a_new_key_is_shown_once(caller: Caller) -> None:
    first, again = (caller.make("key/rotation", {}, once="rotate-own-2") for _ in range(2))
    assert document(first, 201)["key"].startswith("swk_")
    assert document(again, 201)["key"] is None
    assert ApiKey.objects.count() == 2
