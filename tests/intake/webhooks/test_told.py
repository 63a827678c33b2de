"""What happens in the intake is told: a request sent, a case opened and closed."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.contrib.auth.models import User

from intake.models import WebhookDelivery
from intake.webhooks.endpoints import endpoint_make
from intake.webhooks.kinds import KINDS
from tests.intake.desk.cast import NOW, shelter


@pytest.fixture
def all_told(manager: User, settings: Any) -> None:
    settings.SETWRIGHT_FLEET_SOURCE = "tests.intake.visitor.demo_fleet"
    settings.SETWRIGHT_BRANCH_SOURCE = "tests.intake.visitor.demo_branches"
    endpoint_make(name="all", url="https://hooks.example.com/", kinds=KINDS, actor=manager, now=NOW)


def told() -> list[tuple[str, dict[str, Any]]]:
    rows = WebhookDelivery.objects.order_by("created_at", "kind")
    return [(row.kind, json.loads(row.body)["data"]) for row in rows]


def test_a_request_that_goes_to_a_rep_is_told_twice_over(all_told: None) -> None:
    case = shelter()
    reference = case.request.reference
    found = dict(told())
    assert found["request.submitted"] == {"reference": reference, "status": "in_review"}
    assert found["case.opened"]["reference"] == reference
    assert found["case.opened"]["urgent"] is True
    assert set(found) == {"request.submitted", "case.opened"}


def test_nothing_that_is_told_names_a_person(all_told: None) -> None:
    shelter()
    for row in WebhookDelivery.objects.all():
        assert "Brook" not in row.body
        assert "@" not in row.body
