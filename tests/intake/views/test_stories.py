"""The four stories page by page: how much each page weighs, asks and says, in both languages."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from bs4 import BeautifulSoup
from django.contrib.staticfiles import finders
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client
from django.utils import timezone

from intake.models import HireRequest, RequestLoad, RequestPhoto
from tests.browser.intake_walk import DEWATERING, EMERGENCY, STORIES, Story
from tests.intake.visitor import PUMP, Visitor, soup
from tests.page_weight import MOST_BYTES, files_of, weight

pytestmark = pytest.mark.django_db
Look = Callable[[str, HttpResponse], None]
# Words that no Spanish sentence holds.
ENGLISH = re.compile(
    r"\b(the|and|your|you|with|without|this|that|what|how|which|from|of|is|are|not|or|enter|"
    r"choose|optional|photo|step|back|save)\b",
    re.I,
)


@pytest.fixture(autouse=True)
def _demo(demo_fleet: None, settings: Any, tmp_path: Path) -> None:
    settings.SETWRIGHT_BRANCH_SOURCE = "tests.intake.visitor.demo_branches"
    settings.MEDIA_ROOT = str(tmp_path)
    settings.SETWRIGHT_READS_PHOTOS = True


def walked(customer: Visitor, story: Story, look: Look) -> None:
    """Every page of a story, looked at before it is answered, to the check page."""

    def see(name: str, page: str) -> None:
        look(name, customer.client.get(customer.at(page)))

    look("start", customer.client.get("/"))
    customer.start(story.application)
    for place, (kind, answers) in enumerate(story.equipment):
        if place:
            customer.client.post(customer.at("equipment/add/"), {"kind": kind})
        see(f"row {place}", customer.load_page())
        row = RequestLoad.objects.filter(request__reference=customer.reference).latest("id")
        customer.post(customer.load_page(), {"name": row.name, "quantity": "1", **answers})
        see(f"list {place}", "equipment/")
    for step, answers in story.steps.items():
        see(step, f"{step}/")
        assert customer.post(f"{step}/", answers).status_code == 302, step
    see("check", "check/")


def by_application(story: Story) -> str:
    return story.application


@pytest.mark.parametrize("story", STORIES, ids=by_application)
def test_every_page_is_light_and_preselects_nothing(story: Story) -> None:
    """Under 120 kB over the wire with style, scripts and drawings; U10: no answer is suggested."""
    customer, heavy = Visitor(), dict[str, int]()
    seen = list[str]()

    def look(name: str, response: HttpResponse) -> None:
        seen.append(name)
        assert response.status_code == 200, name
        heavy[name] = weight(response)
        assert not soup(response).select("main input[checked]"), name

    walked(customer, story, look)
    picture = len(customer.client.get(customer.at("picture/")).content)  # fetched beside each step
    assert max(heavy.values()) + picture <= MOST_BYTES, heavy
    assert len(seen) == story.pages


def test_the_first_page_needs_one_style_sheet_and_waits_for_no_script() -> None:
    page = soup(Client().get("/"))
    (sheet,) = page.select("link[rel=stylesheet]")
    words = Path(str(finders.find(sheet["href"].removeprefix("/static/")))).read_text()
    assert "@import" not in words
    assert "url(" not in words
    assert all(script.has_attr("defer") for script in page.select("script[src]"))
    assert not page.select("main img, iframe")


def test_a_sent_request_is_light_too() -> None:
    customer = Visitor()
    customer.fill(voltage={"supply": "unsure"})
    customer.send()
    response = customer.client.get(customer.at())
    assert len(files_of(response)) >= 2
    assert weight(response) <= MOST_BYTES


def test_no_english_word_is_left_in_spanish() -> None:
    """Pages and their errors; what customers type and examples of plates are left out."""
    customer, found = spanish(), list[str]()

    def look(name: str, response: HttpResponse) -> None:
        assert response.status_code in (200, 404, 409, 422), name
        found.extend(f"{name}: {words}" for words in english_in(soup(response)))

    look("empty start", customer.client.post("/", {}))
    walked(customer, EMERGENCY, look)
    for step in EMERGENCY.steps:
        look(f"{step} refused", customer.client.post(customer.at(f"{step}/"), {"seen": ""}))
    look("link", customer.client.get(customer.at("link/")))
    customer.send()
    look("sent", customer.client.get(customer.at()))
    look("no such link", customer.client.get("/r/nothing/"))
    assert found == []


def test_no_english_word_is_left_beside_a_photo() -> None:
    customer, found = spanish(), list[str]()
    customer.start("dewatering")
    page = customer.at(customer.load_page())
    states: dict[str, Any] = {
        "waiting": None,
        "nothing": {"state": "nothing", "lines": []},
        "read": {"state": "read", "text": "7.5 hp 230 V 3 ph", "fields": {"hp": 0.6, "volts": 0.99},
                 "lines": [{"text": "7.5 HP", "confidence": 0.6}], "replaced": "5 hp"},
    }  # fmt: skip
    request = HireRequest.objects.get(reference=customer.reference)
    photo = RequestPhoto.objects.create(
        request=request, load=request.loads.get(), image="none.jpg", width_px=9, height_px=9,
        bytes_kept=9, added_at=timezone.now(),
    )  # fmt: skip
    for name, suggestion in states.items():
        RequestPhoto.objects.filter(pk=photo.pk).update(suggestion=suggestion)
        response = customer.client.get(page)
        assert soup(response).select_one("#photo-readings").get_text(strip=True), name
        found.extend(f"{name}: {words}" for words in english_in(soup(response)))
    for name, upload in {"none": None, "pdf": SimpleUploadedFile("a.jpg", b"%PDF-1.7")}.items():
        refused = customer.client.post(page, {**PUMP, "add_photo": "1", "photo": upload or ""})
        assert refused.status_code == 422
        found.extend(f"{name}: {words}" for words in english_in(soup(refused)))
    large = customer.client.get(f"{page}?photo=too_large")
    found.extend(f"large: {words}" for words in english_in(soup(large)))
    assert found == []


def spanish() -> Visitor:
    customer = Visitor()
    customer.client = Client(headers={"accept-language": "es-US"})
    return customer


def english_in(page: BeautifulSoup) -> list[str]:
    """Lines with an English word, where the page itself speaks."""
    for left_out in page.select("[lang=en], .example, textarea, script, input, .brand"):
        left_out.decompose()
    spoken = [
        element[name]
        for name in ("aria-label", "alt", "title", "data-too-large", "data-done")
        for element in page.select(f"[{name}]")
    ]
    lines = [*page.get_text("\n").splitlines(), *spoken]
    return [line.strip() for line in lines if ENGLISH.search(line)]


def test_the_dewatering_story_is_short() -> None:
    """At most twelve pages, and few enough questions for four minutes on a phone."""
    questions = 1 + sum(len(answers) for _, answers in DEWATERING.equipment)
    questions += sum(len(answers) for answers in DEWATERING.steps.values())
    assert DEWATERING.pages <= 12
    assert questions <= 28
