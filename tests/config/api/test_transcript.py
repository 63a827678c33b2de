"""The page `config/API.md`, done as it is written: from a job to an order, and for sites."""

from __future__ import annotations

import json
import re
import shlex
from typing import Any

from django.http import HttpResponse
from django.test import Client

from tests.config.api.caller import Caller
from tests.intake.desk.cast import person
from tests.live_stack import ROOT
from tests.quotes.cast import deliver_all
from tests.quotes.emergency.conftest import body_made

PAGE = (ROOT / "config" / "API.md").read_text()
STEPS = re.findall(r"```sh\ncurl (.*?)```\nexpect: (\d+) `(.*?)`", PAGE, re.DOTALL)


def curl(line: str) -> HttpResponse:
    """Do what curl would with these arguments."""
    words = shlex.split(line)
    method, address, body, headers = "", "", "", {}
    while words:
        word = words.pop(0)
        if word == "-X":
            method = words.pop(0)
        elif word == "-d":
            body = words.pop(0)
        elif word == "-H":
            name, _, value = words.pop(0).partition(": ")
            headers[name] = value
        elif word != "-s":
            address = word
    kind = headers.pop("Content-Type", "application/x-www-form-urlencoded")
    method = method or ("POST" if body else "GET")
    return Client().generic(method, address, body, content_type=kind, headers=headers)


def filled(line: str, known: dict[str, str]) -> str:
    """The line with its variables put in where a shell would: not between single quotes."""
    parts = re.findall(r"'[^']*'|[^']+", line)
    return "".join(part if part.startswith("'") else expanded(part, known) for part in parts)


def expanded(text: str, known: dict[str, str]) -> str:
    return re.sub(r"\$([A-Z]+)", lambda found: known[found[1]], text)


def learnt(known: dict[str, str], response: HttpResponse) -> None:
    """What the reader takes from an answer for the next call."""
    found: Any = json.loads(response.content)
    if "ETag" in response:
        known["TAG"] = response["ETag"].replace('"', '\\"')
    for variable, name in {
        "REFERENCE": "reference", "REVISION": "revision", "TERMS": "terms_version", "ID": "id",
    }.items():  # fmt: skip
        if name in found:
            known[variable] = str(found[name])


def test_the_page_leads_from_a_job_to_an_order(caller: Caller) -> None:
    desk = Caller(name="desk tool", scopes=("cases",), acts_as=person("sol", "senior_rep"))
    scopes = ("sites_read", "sites_write", "emergency")
    county = Caller(name="county", scopes=scopes, organisation=body_made().organisation)
    known = {"SITE": "", "KEY": caller.text, "DESK": desk.text, "COUNTY": county.text}
    for line, status, words in STEPS:
        response = curl(filled(line, known))
        assert response.status_code == int(status), (line, response.content)
        assert words in response.content.decode(), (line, response.content)
        learnt(known, response)
        deliver_all()
    assert len(STEPS) == 13
