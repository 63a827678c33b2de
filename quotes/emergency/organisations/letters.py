"""Letters to a public body's contact."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import translation

from quotes.emergency.organisations.services import body_link
from quotes.models import PublicBody, StandingSite


def link_letter(body: PublicBody, *, message_id: str) -> EmailMessage:
    """The letter with the link that signs the body in."""
    return _letter(body, "body_link", {}, message_id)


def review_letter(body: PublicBody, *, on: date, message_id: str) -> EmailMessage | None:
    """The letter that names the sites whose yearly review is due; none where none is."""
    due = StandingSite.objects.filter(
        organisation=body.organisation, archived_at=None, review_due_on__lte=on
    )
    if not due:
        return None
    return _letter(body, "review", {"sites": list(due)}, message_id)


def _letter(body: PublicBody, name: str, context: dict[str, Any], message_id: str) -> EmailMessage:
    express = f"{settings.SETWRIGHT_SITE_URL}{reverse('quotes:express')}"
    with translation.override(body.language):
        text = render_to_string(
            f"quotes/emergency/mails/{name}.txt",
            {"body": body, "link": body_link(body), "express": express, **context},
        )
    subject, rest = text.strip().split("\n", 1)
    headers = {"Message-ID": f"<{message_id}@setwright>", "Auto-Submitted": "auto-generated"}
    return EmailMessage(subject, rest.strip() + "\n", to=[body.contact_email], headers=headers)
