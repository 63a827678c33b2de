"""Writing and sending a letter to the customer, in the customer's language."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import structlog
from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import translation

from intake.models import Case, CaseQuestion, HireRequest
from intake.questions.said import moment_said
from intake.requests.links import link_token
from intake.requests.selectors import answers_of, site_zone

LETTERS = ("link", "in_review", "question", "declined")
log = structlog.get_logger(__name__)


def letter_send(
    *,
    request_id: int,
    letter: str,
    address: str,
    message_id: str,
    now: datetime,
    question_id: int = 0,
) -> bool:
    """Send one letter; a request that is gone, or has no address, gets none."""
    request = HireRequest.objects.filter(pk=request_id).first()
    address = address or (str(answers_of(request).value("email") or "") if request else "")
    if request is None or not address:
        log.warning("letter_without_address", request_id=request_id, letter=letter)
        return False
    with translation.override(request.language):
        letter_written(request, letter, address, message_id, question_id).send()
    return True


def letter_written(
    request: HireRequest, letter: str, address: str, message_id: str, question_id: int = 0
) -> EmailMessage:
    """The letter: its first line is the subject, the rest the body."""
    if letter not in LETTERS:
        raise KeyError(letter)
    text = render_to_string(f"intake/letters/{letter}.txt", letter_context(request, question_id))
    subject, body = text.strip().split("\n", 1)
    headers = {"Message-ID": f"<{message_id}@setwright>", "Auto-Submitted": "auto-generated"}
    return EmailMessage(subject, body.strip() + "\n", to=[address], headers=headers)


def letter_context(request: HireRequest, question_id: int = 0) -> dict[str, Any]:
    """What a letter may say."""
    token = link_token(request.reference, request.link_generation)
    question = CaseQuestion.objects.filter(pk=question_id, case__request=request).first()
    case = Case.objects.filter(request=request).first()
    return {
        "question": question,
        "hire_request": request,
        "case": case,
        "by": moment_said(case.promised_at, site_zone(answers_of(request))) if case else "",
        "name": answers_of(request).value("contact_name") or "",
        "address": f"{settings.SETWRIGHT_SITE_URL}{reverse('intake:enter', args=[token])}",
    }
