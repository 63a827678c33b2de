"""The beginning of a request: its reference, its link, its first answer."""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction

from intake.events.services import event_record
from intake.models import Answer, HireRequest
from intake.questions.applications import FIRST_EQUIPMENT
from intake.requests.equipment import load_add
from intake.requests.links import link_token, token_hash

_LETTERS = "23456789BCDFGHJKMNPQRTVWXY"  # no vowels, nothing that reads like something else
LINK_DAYS = 90


@transaction.atomic
def request_start(
    *, language: str, now: datetime, application: str = ""
) -> tuple[HireRequest, str]:
    """A new draft and the token of its link; the application's usual equipment stands ready."""
    reference = new_reference()
    token = link_token(reference, 1)
    request = HireRequest(
        reference=reference,
        token_hash=token_hash(token),
        link_expires_at=now + timedelta(days=getattr(settings, "SETWRIGHT_LINK_DAYS", LINK_DAYS)),
        language=language,
        created_at=now,
        updated_at=now,
    )
    request.full_clean()
    request.save()
    event_record(kind="request_started", now=now, actor="customer", request=request)
    if application:
        _first_answer(request, application, now)
    return request, token


def new_reference() -> str:
    """A reference that can be read out over a telephone: ``7K4M-2Q9P``."""
    letters = "".join(secrets.choice(_LETTERS) for _ in range(8))
    return f"{letters[:4]}-{letters[4:]}"


def _first_answer(request: HireRequest, application: str, now: datetime) -> None:
    Answer.objects.create(request=request, key="application", value=application, updated_at=now)
    if kind := FIRST_EQUIPMENT.get(application):
        load_add(request=request, kind=kind, now=now)
