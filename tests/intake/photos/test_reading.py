"""From an attached photo to text that the customer looks at and takes, or does not."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone

from intake.models import OutboxMessage, RequestPhoto
from intake.photos import reading
from intake.photos.engine import Line
from intake.photos.reading import QUEUE, TOPIC, WORTH_WAITING, photo_read
from tests.intake.photos.test_layout import line
from tests.intake.photos.test_photos import add, picture
from tests.intake.visitor import PUMP, Visitor

PLATE = [line("HP", 0, 0), line("7.5", 200, 0, sure=0.62), line("230 V 3 PH", 0, 80)]
TEXT = "7.5 hp 230 V 3 PH"


@pytest.fixture(autouse=True)
def _reads(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = str(tmp_path)
    settings.SETWRIGHT_READS_PHOTOS = True


def read_as(monkeypatch: pytest.MonkeyPatch, lines: list[Line]) -> RequestPhoto:
    """Read the newest photo with an engine that finds these lines."""
    monkeypatch.setattr(reading, "engine_installed", lambda: True)
    monkeypatch.setattr(reading, "photo_lines", lambda path: lines)
    photo = RequestPhoto.objects.latest("id")
    photo_read(photo_id=photo.pk)
    photo.refresh_from_db()
    return photo


def test_a_photo_asks_to_be_read_on_a_queue_of_its_own(customer: Visitor) -> None:
    add(customer, picture())
    message = OutboxMessage.objects.get(topic=TOPIC)
    assert message.queue == QUEUE
    assert message.payload == {"photo_id": RequestPhoto.objects.get().pk}


def test_without_the_extra_a_photo_waits_for_the_rep(customer: Visitor, settings: Any) -> None:
    settings.SETWRIGHT_READS_PHOTOS = False
    add(customer, picture())
    assert not OutboxMessage.objects.filter(topic=TOPIC).exists()
    page = customer.get(customer.load_page())
    assert page.select_one(".photos img")
    assert not page.select_one("#photo-readings [hx-get], #photo-readings p")


def test_the_page_looks_again_while_a_photo_is_read(
    customer: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(customer, picture())
    waiting = customer.get(customer.load_page()).select_one("#photo-readings")
    assert waiting["hx-get"] == customer.at(customer.load_page() + "photos/")
    assert "We are reading photo 1" in waiting.get_text()
    read_as(monkeypatch, PLATE)
    part = customer.get(customer.load_page() + "photos/").select_one("#photo-readings")
    assert not part.get("hx-get")
    assert TEXT in part.get_text()


def test_the_page_stops_looking_after_a_while(customer: Visitor) -> None:
    add(customer, picture())
    RequestPhoto.objects.update(added_at=timezone.now() - WORTH_WAITING)
    assert not customer.get(customer.load_page()).select_one("#photo-readings").get("hx-get")


def test_each_field_is_shown_with_its_confidence(
    customer: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(customer, picture())
    read_as(monkeypatch, PLATE)
    facts = customer.get(customer.load_page()).select_one(".from-photo .facts")
    shown = {d.dt.get_text(): " ".join(d.dd.get_text().split()) for d in facts.select("div")}
    assert shown["Power"] == "7.5 hp 62 % sure: look closely"
    assert shown["Voltage"] == "230 V 99 % sure"


def test_nothing_is_taken_unseen(customer: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    add(customer, picture())
    photo = read_as(monkeypatch, PLATE)
    photo.load.refresh_from_db()
    assert photo.load.nameplate == ""
    box = customer.get(customer.load_page()).select_one("#q-nameplate").get_text().strip()
    assert box == PUMP["nameplate"]


def test_the_text_goes_into_the_box_and_what_was_typed_stays(
    customer: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(customer, picture())
    photo = read_as(monkeypatch, PLATE)
    typed = {**PUMP, "quantity": "3", "use_photo": str(photo.pk)}
    response = customer.post(customer.load_page(), typed)
    assert response["Location"].endswith("#q-nameplate")
    page = customer.get(customer.load_page())
    assert page.select_one("#q-nameplate").get_text().strip() == TEXT
    assert page.select_one("#q-quantity")["value"] == "3"
    assert PUMP["nameplate"] in page.select_one(".from-photo").get_text()
    photo.load.refresh_from_db()
    assert photo.load.nameplate == ""  # in the box, not yet saved


def test_a_stranger_takes_and_sees_nothing(
    customer: Visitor, stranger: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(customer, picture())
    photo = read_as(monkeypatch, PLATE)
    path = customer.at(customer.load_page())
    assert stranger.client.get(f"{path}photos/").status_code == 404
    assert stranger.client.post(path, {"use_photo": str(photo.pk)}).status_code == 404
    stranger.post(stranger.load_page(), {"use_photo": str(photo.pk)})
    box = stranger.get(stranger.load_page()).select_one("#q-nameplate")
    assert box.get_text().strip() == ""


def test_what_stands_on_a_plate_is_shown_as_text(
    customer: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(customer, picture())
    read_as(monkeypatch, [*PLATE, line("<script>x</script>", 0, 160)])
    response = customer.client.get(customer.at(customer.load_page()))
    assert b"<script>x" not in response.content
    assert b"&lt;script&gt;x" in response.content


def test_a_photo_without_a_plate_says_so(
    customer: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(customer, picture())
    read_as(monkeypatch, [])
    shown = customer.get(customer.load_page()).select_one("#photo-readings").get_text()
    assert "We could not read a plate in photo 1" in shown


def test_a_removed_photo_or_file_is_no_failure(
    customer: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    photo_read(photo_id=987_654)
    add(customer, picture())
    photo = RequestPhoto.objects.get()
    Path(photo.image.path).unlink()
    monkeypatch.setattr(reading, "engine_installed", lambda: True)
    photo_read(photo_id=photo.pk)
    photo.refresh_from_db()
    assert photo.suggestion["state"] == "unreadable"


def test_a_second_reading_changes_nothing(
    customer: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(customer, picture())
    first = read_as(monkeypatch, PLATE).suggestion
    assert read_as(monkeypatch, []).suggestion == first
