"""Every page and letter of the emergency part in Spanish: no English is left on it."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.utils.translation import override

from quotes.emergency.organisations.letters import link_letter, review_letter
from quotes.emergency.sites.fields import GROUPS
from quotes.models import HireCompany, PublicBody
from tests.quotes.cast import NOW
from tests.quotes.emergency.conftest import (
    NO_LOADS,
    SITE,
    body_made,
    express_form,
    signed_in,
    site_made,
)
from tests.quotes.test_spanish import ENGLISH, WORD, words_of

pytestmark = pytest.mark.usefixtures("company", "frozen")
SPANISH = {"accept-language": "es"}
OWN = ("Well house 3", "Lift station 2, Mill Road", "Alder County, public works")
CODES = ("across_the_line", "part_winding", "soft_starter", "code G", "ft ")  # as tables write


def english(page: bytes) -> set[str]:
    text = words_of(page)
    company = HireCompany.objects.get().name
    for own in (*OWN, *CODES, company):
        text = text.replace(own, " ")
    return {word for word in WORD.findall(text.lower()) if word in ENGLISH}


def test_an_express_request_is_made_in_spanish(client: Client) -> None:
    form = express_form(client, transfer_equipment="none", facility_kind="medical")
    pages = [
        client.get("/emergency/", headers=SPANISH),
        client.post("/emergency/", {"need_in": "at"}, headers=SPANISH),
        client.post("/emergency/", form, headers=SPANISH, follow=True),
    ]
    more = pages[-1].request["PATH_INFO"] + "more/"
    pages.append(client.get(more, headers=SPANISH))
    pages.append(client.get("/emergency/link/", headers=SPANISH))
    pages.append(client.get("/emergency/sites/", headers=SPANISH))
    assert [english(page.content) for page in pages] == [set()] * 6
    assert "Nada separa el edificio de la red" in pages[2].content.decode()


def test_sites_are_kept_in_spanish(body: PublicBody) -> None:
    client, site = signed_in(body), site_made(body, review_due_on=NOW.date())
    address = "/emergency/sites/"
    wrong = dict.fromkeys(SITE, "…")
    pages: list[Any] = [
        client.get(address, headers=SPANISH),
        client.post(address, {}, headers=SPANISH),
        client.post(address, {"site": [site.key], "need_in": "6"}, headers=SPANISH),
        client.get(f"{address}site/{site.pk}/", headers=SPANISH),
        client.post(f"{address}add/", {**wrong, **NO_LOADS}, headers=SPANISH),
        client.get(f"{address}upload/", headers=SPANISH),
    ]
    assert [english(page.content) for page in pages] == [set()] * 6


def test_letters_follow_the_bodys_language(company: None) -> None:
    body = body_made("Condado de Aliso", language="es")
    site_made(body, name="Pozo 3", review_due_on=NOW.date())
    letters = [
        link_letter(body, message_id="1"),
        review_letter(body, on=NOW.date(), message_id="2"),
    ]
    for letter in letters:
        assert letter is not None
        text = f"{letter.subject} {letter.body}"
        text = " ".join(word for word in text.split() if "/" not in word)
        assert not english(text.encode())


def test_every_field_of_a_site_has_spanish_words() -> None:
    for _title, fields in GROUPS:
        for name, made in fields.items():
            with override("en"):
                said = str(made().label)
            with override("es"):
                assert str(made().label) != said, name
