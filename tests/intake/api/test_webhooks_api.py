"""Webhooks kept by a program, as the manager it acts as."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone

from intake.api.keys import KeyRefused
from intake.models import Event, IdempotencyRecord, WebhookDelivery, WebhookEndpoint
from intake.webhooks.sending import _outcome_keep
from intake.webhooks.services import webhook_emit
from tests.config.api.caller import Caller, document, problem
from tests.intake.desk.cast import person

WANTED = {"name": "dispatch", "url": "https://hooks.example.com/in", "kinds": ["case.opened"]}


@pytest.fixture
def board(db: None) -> Caller:
    return Caller(name="dispatch", scopes=("webhooks",), acts_as=person("mia", "manager"))


@pytest.fixture
def made(board: Caller) -> Any:
    return document(board.make("webhooks", WANTED, once="make-hook-1"), 201)


def test_a_webhook_is_made_read_and_listed_with_its_secret_once(board: Caller, made: Any) -> None:
    assert made["secret"].startswith("whsec_")
    again = board.make("webhooks", WANTED, once="make-hook-1")
    assert document(again, 201)["secret"] is None
    assert again["Idempotent-Replayed"] == "true"
    assert WebhookEndpoint.objects.count() == 1
    assert made["secret"] not in str(IdempotencyRecord.objects.values_list())
    shown = document(board.get(f"webhooks/{made['id']}"))
    assert "secret" not in shown
    assert document(board.get("webhooks"))["items"] == [shown]
    assert Event.objects.filter(kind="webhook_changed", actor__username="mia").count() == 1


def test_a_change_needs_the_version_that_was_seen(board: Caller, made: Any) -> None:
    path, off = f"webhooks/{made['id']}", {"active": False}
    problem(board.call("PATCH", path, off), 428, "precondition_required")
    response = board.call("PATCH", path, off, seen='"1"')
    assert document(response)["off_reason"] == "Switched off by hand."
    assert response["ETag"] == '"2"'
    problem(board.call("PATCH", path, off, seen='"1"'), 412, "precondition_failed")
    problem(board.call("DELETE", path, seen='"1"'), 412, "precondition_failed")
    document_gone = board.call("DELETE", path, seen='"2"')
    assert document_gone.status_code == 204
    assert not WebhookEndpoint.objects.exists()


def test_its_secret_is_rotated_and_shown_once(board: Caller, made: Any) -> None:
    path, body = f"webhooks/{made['id']}/secret", {"overlap_hours": 2}
    fresh = document(board.make(path, body, seen='"1"', once="rotate-1"), 201)
    assert fresh["secret"] not in (None, made["secret"])
    assert fresh["earlier_secret_until"] == "2027-05-10T17:00:00Z"
    assert document(board.make(path, body, seen='"1"', once="rotate-1"), 201)["secret"] is None


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"url": "http://hooks.example.com/"}, "webhook_address_refused"),
        ({"url": "https://10.0.0.1/"}, "webhook_address_refused"),
        ({"kinds": []}, "fields_refused"),
        ({"kinds": ["case.eaten"]}, "fields_refused"),
        ({"name": ""}, "fields_refused"),
    ],
)
def test_what_cannot_be_told_is_refused(board: Caller, changes: Any, code: str) -> None:
    problem(board.make("webhooks", {**WANTED, **changes}), 422, code)


def test_two_webhooks_of_one_name_are_refused(board: Caller, made: Any) -> None:
    problem(board.make("webhooks", WANTED), 422, "fields_refused")


def test_what_was_told_is_listed_and_what_was_given_up_goes_again(board: Caller, made: Any) -> None:
    with transaction.atomic():
        (told,) = webhook_emit(kind="case.opened", payload={}, now=timezone.now())
    path = f"webhooks/{made['id']}/deliveries"
    (listed,) = document(board.get(path))["items"]
    assert (listed["id"], listed["attempts"]) == (str(told.pk), 0)
    problem(board.make(f"{path}/{told.pk}/attempts"), 409, "webhook_delivery_stands")
    _outcome_keep(WebhookDelivery.objects.get(), 1, 410, "", timezone.now())
    assert document(board.make(f"{path}/{told.pk}/attempts"), 201)["given_up_at"] is None


def test_only_a_manager_keeps_webhooks(db: None) -> None:
    rep = Caller(name="rep's tool", scopes=("webhooks",), acts_as=person("rae", "rep"))
    problem(rep.get("webhooks"), 403, "permission_denied")
    problem(rep.make("webhooks", WANTED), 403, "permission_denied")
    with pytest.raises(KeyRefused):
        Caller(name="nobody's tool", scopes=("webhooks",))


def test_the_kinds_say_what_they_mean(board: Caller) -> None:
    kinds = {one["kind"]: one["about"] for one in document(board.get("webhooks/kinds"))["items"]}
    assert "quote.ready" in kinds
