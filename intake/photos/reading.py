"""Reading an attached photo: asked for when it is added, done apart, offered and never taken."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.db import transaction

from intake.models import HireRequest, RequestLoad, RequestPhoto
from intake.outbox.services import outbox_put
from intake.photos.engine import PhotoUnreadable, engine_installed, photo_lines
from intake.photos.suggestion import suggestion_from, suggestion_unreadable
from intake.questions.answers import Given
from intake.requests.equipment import load_given, load_keep

TOPIC, QUEUE = "intake.read_photo", "ocr"
WORTH_WAITING = timedelta(minutes=2)  # then the page stops asking; the rep sees the photo anyway


def photo_reading_ask(photo: RequestPhoto, *, now: datetime) -> None:
    """Ask for a photo to be read, inside the transaction that keeps it.

    Where nothing can read it, the photo waits for the rep.
    """
    if settings.SETWRIGHT_READS_PHOTOS:
        outbox_put(topic=TOPIC, payload={"photo_id": photo.pk}, queue=QUEUE, now=now)


def photo_read(*, photo_id: int) -> None:
    """Read a photo and keep what it suggests; reading one twice changes nothing.

    The reading takes seconds and holds no lock meanwhile. A photo that was removed is forgotten.
    """
    photo = RequestPhoto.objects.filter(pk=photo_id, suggestion__isnull=True).first()
    if photo is None or not engine_installed():
        return
    try:
        suggestion = suggestion_from(photo_lines(Path(photo.image.path)))
    except PhotoUnreadable:
        suggestion = suggestion_unreadable()
    RequestPhoto.objects.filter(pk=photo_id, suggestion__isnull=True).update(suggestion=suggestion)


def photo_awaits_reading(photo: RequestPhoto, *, now: datetime) -> bool:
    """Whether a page should look again soon."""
    fresh = now - photo.added_at < WORTH_WAITING
    return bool(settings.SETWRIGHT_READS_PHOTOS and photo.suggestion is None and fresh)


@transaction.atomic
def photo_text_take(
    *,
    request: HireRequest,
    load: RequestLoad,
    photo: RequestPhoto,
    typed: dict[str, Given],
    seen: str,
    now: datetime,
) -> None:
    """Put a photo's text into the nameplate box, for the customer to check and save.

    What stood in the box is kept with the suggestion, so that nothing typed is lost.
    """
    suggestion = dict(photo.suggestion or {})
    text = suggestion.get("text", "")
    if not text:
        return
    before = (load_given(load) | typed)["nameplate"].value or ""
    given = load_given(load) | typed | {"nameplate": Given(text), "typical_code": Given(None)}
    load_keep(request=request, load=load, typed=given, seen=seen, now=now)
    suggestion["replaced"] = before if before != text else suggestion.get("replaced", "")
    RequestPhoto.objects.filter(pk=photo.pk).update(suggestion=suggestion)
