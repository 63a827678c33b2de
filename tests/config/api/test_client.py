"""A client made from the document drives the main job, from a job to an order."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from intake.models import Status
from quotes.models import Booking, Order
from tests.config.api.caller import ANSWERS, LOADS, Caller
from tests.config.api.client_made import client_made, client_source
from tests.intake.desk.cast import person
from tests.quotes.cast import deliver_all


@dataclass
class Wire:
    """What carries the calls of the made client; it knows the service's address and the key."""

    key: str
    answered: Any = field(default=None)

    def __call__(self, method: str, path: str, headers: dict[str, str], body: Any) -> Any:
        sent = {"Authorization": f"Bearer {self.key}", **headers}
        raw = b"" if body is None else json.dumps(body).encode()
        answer = Client().generic(method, path, raw, content_type="application/json", headers=sent)
        assert answer.status_code < 300, answer.content
        self.answered = answer
        return json.loads(answer.content) if "json" in answer["Content-Type"] else answer.content

    @property
    def tag(self) -> str:
        return str(self.answered["ETag"])


@pytest.fixture
def document_served(client: Client) -> Any:
    return client.get("/api/v1/openapi.json").json()


def test_a_client_made_from_the_document_gets_from_a_job_to_an_order(
    caller: Caller, document_served: Any
) -> None:
    wire = Wire(caller.text)
    api = client_made(document_served, wire)
    body = {"application": "dewatering", "answers": {**ANSWERS, "supply": "unsure"}, "loads": LOADS}
    made = api.make_request(body, idempotency_key=str(uuid4()))
    assert made["quantities"]["altitude"]["unit"] == "m"
    assert made["quantities"]["altitude"]["value"] == pytest.approx(9600 * 0.3048)  # NIST SP 811
    sent = api.submit_request(made["reference"], idempotency_key=str(uuid4()), if_match=wire.tag)
    assert sent["status"] == Status.IN_REVIEW
    assert "supply_unsure" in {finding["code"] for finding in sent["findings"]}
    settled(document_served, made["reference"])
    deliver_all()
    quote = api.read_quote(made["reference"])
    assert api.read_quote_document(made["reference"], quote["revision"]).startswith(b"%PDF")
    order = api.accept_quote(
        made["reference"],
        {"revision": quote["revision"], "terms_version": quote["terms_version"], "name": "Ann"},
        idempotency_key=str(uuid4()),
    )
    assert api.read_order(made["reference"]) == order
    assert (Order.objects.count(), Booking.objects.count()) == (1, 1)


def settled(document: Any, reference: str) -> None:
    """The desk's program answers the finding and releases the case."""
    desk = Caller(name="desk tool", scopes=("cases",), acts_as=person("sol", "senior_rep"))
    wire = Wire(desk.text)
    api = client_made(document, wire)
    api.read_case(reference)
    said = {"value": "480Y/277", "reason": "The site electrician read it off the panel."}
    case = api.correct_answer(reference, "supply", said, if_match=wire.tag)
    assert case["missing"] == ""
    assert api.release_case(reference, if_match=wire.tag)["state"] == "released"


def test_the_client_has_every_operation(document_served: Any) -> None:
    source = client_source(document_served)
    ids = [
        operation["operationId"]
        for methods in document_served["paths"].values()
        for operation in methods.values()
    ]
    assert len(ids) == len(set(ids)) > 60
    assert all(f"def {one}(self" in source for one in ids)
