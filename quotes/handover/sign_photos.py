"""Photos of a sign-off, kept after it: a full disk costs a photo and never the signature."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias
from uuid import uuid4

import structlog
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils.translation import gettext as _

from intake.photos.services import (
    LARGEST_BYTES,
    FreshPhoto,
    file_keep,
    photo_made_anew,
    photo_sentence,
)
from intake.requests.errors import AnswerRefused
from quotes.handover.errors import AlreadySigned
from quotes.models import SignOff, SignOffPhoto

MOST_PHOTOS = 8
Photos: TypeAlias = "Mapping[str, Sequence[UploadedFile[Any]]]"
Mark: TypeAlias = list[str]  # the subject, and the SHA-256 of the file as it came

log = structlog.get_logger(__name__)


@dataclass(frozen=True, slots=True)
class Taken:
    """A photo as it came, made anew; ``fresh`` is missing where there was no room even for that."""

    mark: Mark
    fresh: FreshPhoto | None


def photos_taken(photos: Photos) -> list[Taken]:
    """Check the photos and make them anew; ``AnswerRefused`` where one is none."""
    uploads = [(subject, one) for subject, files in photos.items() for one in files]
    if len(uploads) > MOST_PHOTOS:
        raise AnswerRefused({"photo": [_("At most %s photos.") % MOST_PHOTOS]})
    if any((one.size or 0) > LARGEST_BYTES for _subject, one in uploads):
        raise AnswerRefused({"photo": [photo_sentence("too_large")]})
    return [Taken([subject, _sha256(one)], _made_anew(one)) for subject, one in uploads]


def _sha256(upload: UploadedFile[Any]) -> str:
    digest = hashlib.sha256()
    for chunk in upload.chunks():
        digest.update(chunk)
    return digest.hexdigest()


def _made_anew(upload: UploadedFile[Any]) -> FreshPhoto | None:
    try:
        return photo_made_anew(upload)
    except OSError:
        log.exception("sign_off_photo_not_made_anew")
        return None


def photos_keep(made: SignOff, taken: Sequence[Taken]) -> None:
    """Keep what the sign-off still misses; a photo without room stays named as missing.

    Each photo is a transaction of its own. A photo sent again is known by its mark; another one of
    the same subject takes the place of one that is still missing.
    """
    for one in sorted(taken, key=lambda one: one.mark not in made.photos_missing):
        try:
            _photo_keep(made.pk, one)
        except OSError:  # no room, or no right to write: the signature stands all the same
            log.exception("sign_off_photo_not_kept", sign_off_id=made.pk, subject=one.mark[0])
    made.refresh_from_db(fields=["photos_missing"])


@transaction.atomic
def _photo_keep(sign_off_id: int, one: Taken) -> None:
    made = SignOff.objects.select_for_update().get(pk=sign_off_id)
    mark = _place_of(one.mark, made.photos_missing)
    if mark is None or one.fresh is None:
        return
    photo = SignOffPhoto(
        sign_off=made, subject=mark[0], width_px=one.fresh.width_px, height_px=one.fresh.height_px
    )
    file_keep(photo.image, f"{uuid4().hex}.jpg", one.fresh.content)
    photo.full_clean(exclude=["sign_off"])
    photo.save(force_insert=True)
    made.photos_missing.remove(mark)
    made.save(update_fields=["photos_missing"])


def _place_of(mark: Mark, missing: list[Mark]) -> Mark | None:
    """The mark among the missing ones that a photo fills, if there is one."""
    same = [one for one in missing if one[0] == mark[0]]
    return mark if mark in same else next(iter(same), None)


def sign_off_photos_again(
    *, out_unit_id: int, kind: str, client_key: str, photos: Photos
) -> SignOff:
    """Keep photos for which there was no room when the unit was signed for."""
    made = SignOff.objects.filter(out_unit_id=out_unit_id, kind=kind).first()
    if made is None or str(made.client_key) != client_key:
        raise AlreadySigned
    photos_keep(made, photos_taken(photos) if made.photos_missing else [])
    return made
