"""What was read from the photos of a row of equipment, for the customer to look at and take."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from intake.models import HireRequest, RequestLoad, RequestPhoto
from intake.photos.reading import photo_awaits_reading, photo_text_take
from intake.photos.suggestion import READ, FieldRead, fields_read
from intake.prepared import A_KEY, Prepared
from intake.questions.answers import Given
from intake.questions.plate_words import PlateLine, plate_lines
from intake.requests.equipment import load_given
from intake.requests.errors import VersionConflict
from intake.views.access import draft_only
from intake.views.equipment import load_of
from sizing.nameplate import NameplateRefused, read_nameplate

USE_BUTTON = "use_photo"
PHOTOS = Prepared(lambda load: RequestPhoto.objects.filter(load=load), A_KEY)


@dataclass(frozen=True, slots=True)
class ReadField:
    """One field of a suggestion, as the page shows it."""

    line: PlateLine
    read: FieldRead


@dataclass(frozen=True, slots=True)
class PhotoReading:
    """A photo with what became of its reading."""

    number: int
    photo: RequestPhoto
    waiting: bool
    text: str = ""
    fields: tuple[ReadField, ...] = ()
    raw: tuple[str, ...] = ()
    replaced: str = ""

    @property
    def in_vain(self) -> bool:
        """It was read, and nothing on it was of use."""
        return self.photo.suggestion is not None and not self.text

    @property
    def doubtful(self) -> bool:
        return any(not field.read.sure for field in self.fields)


def photo_readings(photos: Iterable[RequestPhoto], *, now: datetime) -> list[PhotoReading]:
    """The readings of a row's photos, those that wait among them."""
    return [_reading(n, photo, now) for n, photo in enumerate(photos, 1)]


def _reading(number: int, photo: RequestPhoto, now: datetime) -> PhotoReading:
    suggestion = photo.suggestion or {}
    text = suggestion.get("text", "") if suggestion.get("state") == READ else ""
    return PhotoReading(
        number,
        photo,
        photo_awaits_reading(photo, now=now),
        text,
        tuple(_fields(text, suggestion)),
        tuple(line["text"] for line in suggestion.get("lines", ())),
        suggestion.get("replaced", ""),
    )


def _fields(text: str, suggestion: dict[str, object]) -> list[ReadField]:
    """The fields as they are understood today, each with how sure the reading is of it."""
    try:
        lines = plate_lines(read_nameplate(text)) if text else []
    except NameplateRefused:
        return []
    sure = {read.name: read for read in fields_read(suggestion)}
    return [ReadField(line, sure.get(line.field, FieldRead(line.field, 0.0))) for line in lines]


def readings_context(request: HireRequest, load: RequestLoad, typed: str) -> dict[str, object]:
    """What the part of the page about readings needs."""
    photos = PHOTOS.rows(load.pk)
    readings = photo_readings(photos, now=timezone.now())
    return {
        "photos": photos,
        "hire_request": request,
        "load": load,
        "readings": readings,
        "reading_waits": any(reading.waiting for reading in readings),
        "typed_plate": " ".join(typed.split()),
    }


@require_safe
@draft_only
def readings(web: HttpRequest, hire_request: HireRequest, load_id: int) -> HttpResponse:
    """The part of the page about readings, asked for again while one is under way."""
    load = load_of(hire_request, load_id)
    typed = str(load_given(load)["nameplate"].value or "")
    return render(web, "intake/photo_readings.html", readings_context(hire_request, load, typed))


def text_taken(
    web: HttpRequest, request: HireRequest, load: RequestLoad, typed: dict[str, Given], seen: str
) -> HttpResponse:
    """Put a photo's text into the box and show the page again, at the box."""
    wanted = web.POST.get(USE_BUTTON, "")
    photo = load.photos.filter(pk=wanted).first() if wanted.isdigit() else None
    if photo is not None:
        with suppress(VersionConflict):
            photo_text_take(
                request=request, load=load, photo=photo, typed=typed, seen=seen,
                now=timezone.now(),
            )  # fmt: skip
    return HttpResponseRedirect(f"{web.get_full_path()}#q-nameplate")
