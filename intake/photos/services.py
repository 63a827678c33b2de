"""Taking a photo, and taking it away again."""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
import sys
import tempfile
import time
import uuid
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import structlog
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.db.models.fields.files import FieldFile
from django.utils.translation import gettext as _

from intake.events.services import event_record
from intake.models import HireRequest, RequestLoad, RequestPhoto
from intake.photos import reencode
from intake.photos.reading import photo_reading_ask
from intake.requests.drafts import draft_touch
from intake.requests.errors import AnswerRefused

LARGEST_BYTES = 15_000_000
MOST_PHOTOS = 12
SECONDS = 30
FOLDER = "setwright-photo-"
LEFT_AFTER_S = 600

log = structlog.get_logger(__name__)


@dataclass(frozen=True, slots=True)
class FreshPhoto:
    """A photo made anew, ready to be kept."""

    content: bytes
    width_px: int
    height_px: int


def photo_add(
    *, request: HireRequest, load: RequestLoad, upload: UploadedFile[Any], now: datetime
) -> RequestPhoto:
    """Check a photo, make it anew and keep it with its row of equipment."""
    if (upload.size or 0) > LARGEST_BYTES:
        raise AnswerRefused({"photo": [photo_sentence("too_large")]})
    if request.photos.count() >= MOST_PHOTOS:
        raise AnswerRefused({"photo": [photo_sentence("too_many")]})
    try:
        return _photo_keep(request, load, photo_made_anew(upload), now)
    except OSError:  # no room, or no right to write: ours to mend, not the customer's
        log.exception("photo_not_kept", request_id=request.pk)
        raise AnswerRefused({"photo": [photo_sentence("no_room")]}) from None


@transaction.atomic
def _photo_keep(
    request: HireRequest, load: RequestLoad, fresh: FreshPhoto, now: datetime
) -> RequestPhoto:
    draft_touch(request, now=now)
    photo = RequestPhoto(
        request=request,
        load=load,
        width_px=fresh.width_px,
        height_px=fresh.height_px,
        bytes_kept=len(fresh.content),
        added_at=now,
    )
    file_keep(photo.image, f"{uuid.uuid4().hex}.jpg", fresh.content)
    photo.full_clean(exclude=["request", "load"])
    photo.save()
    photo_reading_ask(photo, now=now)
    event_record(kind="photo_added", now=now, actor="customer", request=request, subject=load.name)
    return photo


def file_keep(image: FieldFile, name: str, content: bytes) -> None:
    """Write the file of a photo that is not saved yet, or leave no part of it."""
    try:
        image.save(name, ContentFile(content), save=False)
    except OSError:
        with suppress(OSError):
            image.storage.delete(image.field.generate_filename(image.instance, name))
        raise


def photo_made_anew(upload: UploadedFile[Any]) -> FreshPhoto:
    """The photo as a fresh JPEG, or ``AnswerRefused`` with what is wrong with it."""
    leftovers_cleared()
    with tempfile.TemporaryDirectory(prefix=FOLDER) as folder:
        source, target = Path(folder, "in"), Path(folder, "out.jpg")
        with source.open("wb") as file:
            for chunk in upload.chunks():
                file.write(chunk)
        width_px, height_px = _reencoded_apart(source, target)
        return FreshPhoto(target.read_bytes(), width_px, height_px)


def leftovers_cleared() -> None:
    """Delete what a killed process left of an upload: an original may tell where it was taken."""
    for folder in Path(tempfile.gettempdir()).glob(f"{FOLDER}*"):
        with suppress(OSError):
            if time.time() - folder.stat().st_mtime > LEFT_AFTER_S:
                shutil.rmtree(folder, ignore_errors=True)


def _reencoded_apart(source: Path, target: Path) -> tuple[int, int]:
    """Make it anew in a process of its own, which may run out of means without harm."""
    command = [sys.executable, "-I", reencode.__file__, str(source), str(target)]
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=SECONDS)  # noqa: S603
    except subprocess.TimeoutExpired:
        raise AnswerRefused({"photo": [photo_sentence("damaged")]}) from None
    if done.returncode == 0:
        width_px, height_px = done.stdout.split()
        return int(width_px), int(height_px)
    code = done.stdout.strip() if done.returncode == reencode.REFUSED else "damaged"
    if code == reencode.NO_ROOM:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(target))
    raise AnswerRefused({"photo": [photo_sentence(code)]})


def photo_sentence(code: str) -> str:
    """What is wrong with a photo, and what to do."""
    sentences = {
        "not_a_photo": _("This file is not a photo we can read. Add a JPEG, PNG, WebP or HEIC."),
        "too_many_pixels": _("This picture has too many pixels. Take a new photo, or shrink it."),
        "damaged": _("This photo cannot be opened. Take it again, or send another."),
        "too_large": _("This file is over {most} MB. Take a smaller photo.").format(
            most=LARGEST_BYTES // 1_000_000
        ),
        "no_room": _(
            "We could not keep the photo just now. What you typed is still here: go on without "
            "the photo, or add it again later."
        ),
        "too_many": _("{most} photos fit into a request. Remove one first.").format(
            most=MOST_PHOTOS
        ),
    }
    return sentences[code]


@transaction.atomic
def photo_remove(*, request: HireRequest, photo: RequestPhoto, now: datetime) -> None:
    """Take a photo away, its file after the change is safe."""
    draft_touch(request, now=now)
    storage, name = photo.image.storage, photo.image.name
    subject = photo.load.name if photo.load else ""
    event_record(kind="photo_removed", now=now, actor="customer", request=request, subject=subject)
    photo.delete()
    transaction.on_commit(lambda: storage.delete(str(name)))
