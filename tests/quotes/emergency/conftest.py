"""A public body with its browser, and an express request as it is filled in."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client

from intake.models import Organisation
from quotes.emergency.organisations.services import (
    COOKIE,
    BodyContact,
    body_register,
    body_token,
)
from quotes.models import PublicBody, StandingSite
from tests.quotes.cast import NOW


@pytest.fixture
def frozen() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


def body_made(name: str = "Alder County, public works", **more: Any) -> PublicBody:
    organisation = Organisation.objects.create(name=name, created_at=NOW)
    contact = BodyContact("Nia Demo", "nia@alder.example", "970 555 0171")
    return body_register(organisation=organisation, contact=contact, now=NOW, **more)


@pytest.fixture
def body(db: None) -> PublicBody:
    return body_made()


def signed_in(body: PublicBody) -> Client:
    client = Client()
    client.cookies[COOKIE] = body_token(body.organisation_id, body.link_generation)
    return client


@pytest.fixture
def member(body: PublicBody, frozen: None) -> Client:
    """The browser of somebody who holds the body's link."""
    return signed_in(body)


SITE: dict[str, Any] = {
    "key": "WELL-3",
    "name": "Well house 3",
    "facility_kind": "water",
    "street": "12 Spring Lane",
    "zip": "80701",
    "supply": "480Y/277",
    "main_breaker_a": "200",
    "altitude": "4300 ft",
    "lead_length": "75 ft",
    "transfer_equipment": "manual_switch",
    "connection": "cam",
    "contact_name": "Nia Demo",
    "night_phone": "970 555 0171",
}
NO_LOADS = {"load-TOTAL_FORMS": "0", "load-INITIAL_FORMS": "0"}


def site_made(body: PublicBody, **fields: Any) -> StandingSite:
    values: dict[str, Any] = {
        "key": "WELL-3",
        "name": "Well house 3",
        "facility_kind": "water",
        "zip": "80701",
        "state": "CO",
        "county": "Morgan",
        "latitude": "40.25",
        "longitude": "-103.8",
        "altitude_m": "1310",
        "supply": "480Y/277",
        "main_breaker_a": 100,
        "transfer_equipment": "manual_switch",
        "connection": "cam",
        "lead_length_m": "20",
        "contact_name": "Nia Demo",
        "night_phone": "970 555 0171",
        "created_at": NOW,
        "updated_at": NOW,
        "reviewed_on": NOW.date(),
        "review_due_on": NOW.date() + timedelta(days=365),
        **fields,
    }
    return StandingSite.objects.create(organisation=body.organisation, **values)


EXPRESS: dict[str, str] = {
    "facility_kind": "water",
    "need_in": "6",
    "life_support": "no",
    "load": "60 kW",
    "main_breaker_a": "",
    "supply": "480Y/277",
    "transfer_equipment": "manual_switch",
    "place": "Lift station 2, Mill Road",
    "zip": "80701",
    "company": "Alder County",
    "contact_name": "Nia Demo",
    "phone": "970 555 0171",
    "email": "",
}


def express_form(client: Client, **changed: str) -> dict[str, str]:
    """The form as it is served, filled in."""
    from bs4 import BeautifulSoup

    page = BeautifulSoup(client.get("/emergency/").content, "html.parser")
    key = page.select_one("input[name=form_key]")
    assert key is not None
    return {**EXPRESS, "form_key": str(key["value"]), **changed}
