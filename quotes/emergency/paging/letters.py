"""The call itself: short, with everything that is needed to answer it from bed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.urls import reverse

from intake.desk.words import span
from quotes.emergency.clock import need_zone
from quotes.emergency.hookup import who_connects
from quotes.models import CallStep, Need, Page


def page_letter(
    page: Page, *, also: Sequence[int], message_id: str, now: datetime
) -> EmailMessage | None:
    """The mail to the duty rep; its subject says the most.

    None where it would call about call backs that have been recorded since it was written.
    """
    needs = list(
        Need.objects.filter(pk__in=[page.need_id, *also]).select_related("request", "site")
    )
    if page.step != CallStep.FIRST:
        needs = [need for need in needs if need.owes_call]
    if not needs:
        return None
    needs.sort(key=lambda need: (need.pk != page.need_id, need.rank, need.need_by, need.pk))
    said = [_said(need, now) for need in needs]
    context = {"needs": said, "first": said[0], "step": page.step, "connects": who_connects()}
    text = render_to_string("quotes/emergency/mails/page.txt", context)
    subject, body = text.strip().split("\n", 1)
    headers = {
        "Message-ID": f"<{message_id}@setwright>",
        "Auto-Submitted": "auto-generated",
        "Importance": "high",
        "X-Priority": "1",
    }
    return EmailMessage(subject, body.strip() + "\n", to=[page.target], headers=headers)


def _said(need: Need, now: datetime) -> dict[str, Any]:
    where = reverse("quotes:emergency_need", args=[need.pk])
    late = now - need.call_back_by if need.call_back_by else None
    return {
        "need": need,
        "zone": str(need_zone(need)),
        "late": span(late) if late is not None and late.total_seconds() >= 0 else "",
        "link": f"{settings.SETWRIGHT_SITE_URL}{where}",
    }
