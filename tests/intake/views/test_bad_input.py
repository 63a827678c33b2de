"""Input that is odd, hostile, too large or too late: said clearly, and nothing typed is lost."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any, NoReturn

import pytest
from bs4 import BeautifulSoup
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client
from django.utils import timezone

from intake.models import HireRequest, OutboxMessage, RequestLoad, RequestPhoto
from intake.requests.links import link_token
from tests.intake.photos.test_photos import bomb
from tests.intake.visitor import PUMP, STEPS, Visitor, errors, soup, summary

ODD = {
    "emoji": "Zoë 🚜👷🏽‍♀️ 🇺🇸",
    "right to left": "שלום \u202eabc\u202c مضخة",
    "sql": "Robert'); DROP TABLE intake_hirerequest;--",
    "html": "<script>alert(1)</script><img src=x onerror=alert(1)>&amp;",
    "template": "{{ settings.SECRET_KEY }}{% load i18n %}",
}
LONG = "pump " * 2_000


@pytest.fixture(autouse=True)
def _media(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = str(tmp_path)


def shown_in(page: BeautifulSoup, field: str) -> str:
    found = page.select_one(f"#q-{field}")
    assert found is not None
    text = found.get_text() if found.name == "textarea" else str(found["value"])
    return text.removeprefix("\n").strip()


@pytest.mark.parametrize("text", ODD.values(), ids=ODD.keys())
def test_odd_text_stays_as_typed_beside_an_error(customer: Visitor, text: str) -> None:
    typed = {"contact_name": text, "note": text, "email": "not mail", "phone": "970 555 0142"}
    response = customer.post("contact/", typed)
    assert errors(response) == {
        "email": "“not mail” is not an email address. Enter it like name@example.com."
    }
    page = soup(response)
    assert {field: shown_in(page, field) for field in typed} == typed


@pytest.mark.parametrize("text", ODD.values(), ids=ODD.keys())
def test_odd_text_is_taken_and_shown_as_text(customer: Visitor, text: str) -> None:
    assert customer.post("contact/", {**STEPS["contact"], "note": text}).status_code == 302
    assert customer.post(customer.load_page(), {**PUMP, "name": text}).status_code == 302
    response = customer.client.get(customer.at("check/"))
    said = [element.get_text(strip=True) for element in soup(response).select(".facts dd")]
    assert text in said
    assert b"<script>alert" not in response.content
    assert b"<img src=x" not in response.content
    assert HireRequest.objects.filter(reference=customer.reference).exists()


@pytest.mark.parametrize(("field", "fits"), [("contact_name", "120"), ("company", "200")])
def test_ten_kilobytes_are_refused_with_the_limit_and_stay(
    customer: Visitor, field: str, fits: str
) -> None:
    response = customer.post("contact/", {**STEPS["contact"], field: LONG})
    assert f"9,999 characters; {fits} fit here" in errors(response)[field]
    assert shown_in(soup(response), field) == LONG.strip()


def test_a_plate_of_ten_kilobytes_is_refused_and_stays(customer: Visitor) -> None:
    response = customer.post(customer.load_page(), {**PUMP, "nameplate": LONG})
    assert "500 fit here" in errors(response)["nameplate"]
    assert shown_in(soup(response), "nameplate") == LONG.strip()


class Unread:
    """A body that must not be read."""

    def read(self, *_: Any) -> NoReturn:
        raise AssertionError("the body was read")

    readline = readlines = __iter__ = read


def test_a_photo_of_200_mb_is_refused_unread_and_what_was_kept_stays(customer: Visitor) -> None:
    page = customer.load_page()
    seen = customer.get(page).select_one("#seen")["value"]
    customer.client.post(customer.at(f"{page}keep/"), {"nameplate": "15 hp 46", "seen": seen})
    response = customer.client.post(
        customer.at(page),
        CONTENT_LENGTH="200000000",
        CONTENT_TYPE="multipart/form-data; boundary=x",
        **{"wsgi.input": Unread()},
    )
    shown = customer.client.get(response["Location"].partition("#")[0])
    assert summary(shown) == ["This file is over 15 MB. Take a smaller photo."]
    assert shown_in(soup(shown), "nameplate") == "15 hp 46"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"%PDF-1.7\n1 0 obj\n", "not a photo we can read. Add a JPEG"),
        (bomb(), "too many pixels. Take a new photo, or shrink it"),
    ],
    ids=["a PDF by the name of plate.jpg", "decompression bomb"],
)
def test_what_is_no_photo_is_said_and_every_answer_stays(
    customer: Visitor, content: bytes, words: str
) -> None:
    photo = SimpleUploadedFile("plate.jpg", content, "image/jpeg")
    response = customer.post(customer.load_page(), {**PUMP, "photo": photo, "add_photo": "1"})
    assert response.status_code == 422
    (sentence,) = summary(response)
    assert words in sentence
    page = soup(response)
    for field in ("nameplate", "quantity", "name"):
        assert shown_in(page, field) == PUMP[field]
    assert page.select_one("input[name=float_switch][value=yes]").has_attr("checked")
    assert RequestPhoto.objects.count() == 0


def refused_link(response: HttpResponse) -> bool:
    words = soup(response).get_text(" ", strip=True)
    return response.status_code == 404 and "Open the newest mail from us" in words


def test_an_expired_link_says_so_and_the_answers_wait_for_a_new_one(customer: Visitor) -> None:
    customer.post("voltage/", STEPS["voltage"])
    request = HireRequest.objects.get(reference=customer.reference)
    gone = timezone.now() - timedelta(seconds=1)
    HireRequest.objects.update(link_expires_at=gone)
    old = f"/r/{link_token(request.reference, request.link_generation)}/"
    for page in (old, customer.at("voltage/"), customer.at("check/")):
        assert refused_link(customer.client.get(page)), page
    assert refused_link(customer.client.post(customer.at("voltage/"), STEPS["voltage"]))
    HireRequest.objects.update(link_expires_at=request.link_expires_at)
    assert customer.get("voltage/").select_one("#q-supply-3").has_attr("checked")


def test_somebody_elses_link_opens_nothing_and_changes_nothing(
    customer: Visitor, stranger: Visitor
) -> None:
    typed = {**STEPS["voltage"]}
    assert refused_link(stranger.client.get(customer.at("voltage/")))
    assert refused_link(stranger.client.post(customer.at("voltage/"), typed))
    forged = link_token(customer.reference, 1)[:-1] + "A"
    assert refused_link(Client().get(f"/r/{forged}x/"))
    assert not HireRequest.objects.get(reference=customer.reference).answers.filter(
        key="supply"
    ).exists()  # fmt: skip


def test_back_after_sending_and_sending_again_lead_to_where_it_stands(
    demo_fleet: None, db: None
) -> None:
    customer = Visitor()
    customer.fill(voltage={"supply": "unsure"})
    first = customer.client.get(customer.at("check/"))
    version = soup(first).select_one("[name=version]")["value"]
    stands = customer.at()
    for _press in range(2):
        sent = customer.client.post(customer.at("check/"), {"version": version})
        assert sent["Location"] == stands
    changed = customer.client.post(customer.at("voltage/"), {"supply": "120/240"})
    assert changed["Location"] == stands
    request = HireRequest.objects.get(reference=customer.reference)
    assert request.runs.count() == 1
    assert OutboxMessage.objects.filter(topic__startswith="intake.mail").count() <= 1
    assert request.answers.get(key="supply").unsure
    assert RequestLoad.objects.filter(request=request).count() == 2


def test_the_key_lasts_for_weeks(customer: Visitor) -> None:
    """U17: no time runs out while a plate is looked for."""
    request = HireRequest.objects.get(reference=customer.reference)
    left = request.link_expires_at - timezone.now()
    assert left > timedelta(days=89)
    assert customer.client.cookies["request_key"]["max-age"] > timedelta(days=89).total_seconds()
