"""The call itself: short, with everything that is needed to answer it from bed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.urls import reverse

from intake.desk.promise import company_zone
from intake.requests.selectors import zip_zone
from quotes.models import Need, Page


def page_letter(page: Page, *, also: Sequence[int], message_id: str) -> EmailMessage:
    """The mail to the duty rep; its subject says the most."""
    needs = list(Need.objects.filter(pk__in=[page.need_id, *also]).select_related("request"))
    context = {"needs": [_said(need) for need in needs], "first": _said(page.need)}
    text = render_to_string("quotes/emergency/mails/page.txt", context)
    subject, body = text.strip().split("\n", 1)
    headers = {
        "Message-ID": f"<{message_id}@setwright>",
        "Auto-Submitted": "auto-generated",
        "Importance": "high",
        "X-Priority": "1",
    }
    return EmailMessage(subject, body.strip() + "\n", to=[page.target], headers=headers)


def _said(need: Need) -> dict[str, Any]:
    zone = zip_zone(str(need.requirement.get("site", {}).get("zip") or ""))
    case = reverse("desk:case", args=[need.request.reference]) if need.request else ""
    return {
        "need": need,
        "zone": zone or str(company_zone()),
        "link": f"{settings.SETWRIGHT_SITE_URL}{case}" if case else settings.SETWRIGHT_SITE_URL,
    }
