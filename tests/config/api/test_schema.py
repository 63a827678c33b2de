"""The OpenAPI document and its page."""

from __future__ import annotations

import json
import re

import pytest
from bs4 import BeautifulSoup
from django.test import Client

from config.api.schema import schema
from tests.config.api.caller import problem

METHODS = {"get", "post", "put", "patch", "delete"}
OPERATIONS = [
    (path, method, given) for path, methods in schema()["paths"].items()
    for method, given in methods.items()
]  # fmt: skip


def test_the_document_is_openapi_3_1_and_served(client: Client) -> None:
    served = client.get("/api/v1/openapi.json").json()
    assert served["openapi"] == "3.1.0"
    assert served == json.loads(json.dumps(schema()))


@pytest.mark.parametrize(("path", "method", "given"), OPERATIONS)
def test_every_operation_is_locked_and_has_its_problems(
    path: str, method: str, given: dict[str, object]
) -> None:
    assert method in METHODS
    assert given["security"] == [{"key": []}]
    assert {"401", "403", "429"} <= set(given["responses"])  # type: ignore[call-overload]


@pytest.mark.parametrize(("path", "method", "given"), OPERATIONS)
def test_every_creating_call_takes_a_key_of_the_callers_own(
    path: str, method: str, given: dict[str, list[dict[str, object]]]
) -> None:
    stateless = path.endswith(("/sizing", "/nameplates"))
    names = {one["name"] for one in given.get("parameters", []) if one.get("required")}
    assert ("Idempotency-Key" in names) == (method == "post" and not stateless)


def test_the_page_shows_every_operation_and_loads_nothing_from_elsewhere(
    db: None, client: Client
) -> None:
    response = client.get("/api/v1/")
    page = BeautifulSoup(response.content, "html.parser")
    shown = {section["id"] for section in page.select("section[id]")}
    assert shown == {given["operationId"] for _path, _method, given in OPERATIONS}
    sources = [tag.get("src") or tag.get("href") for tag in page.select("[src], link[href]")]
    assert all(str(source).startswith("/") for source in sources)
    assert not re.search(r"\sstyle=|<style", response.content.decode())


def test_an_address_that_is_not_there_is_a_problem_document(client: Client) -> None:
    problem(client.get("/api/v1/nothing/here"), 404, "not_found")
    problem(client.post("/api/v1/requests/A/B/C/D"), 404, "not_found")
