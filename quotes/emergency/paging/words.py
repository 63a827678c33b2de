"""What staff read of a promised call back: by when, how late, who was called, who did it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.urls import reverse
from django.utils import timezone

from intake.desk.services.holding import name_of
from intake.desk.words import span
from intake.models import Case
from quotes.emergency.clock import need_zone
from quotes.models import Need


def call_words(need: Need, now: datetime) -> str:
    """Where the call back stands, by the clock in force; empty where none was promised."""
    if need.call_back_by is None:
        return ""
    by = f"{timezone.localtime(need.call_back_by):%H:%M %Z}"
    if need.called_back_at is not None:
        who = f" by {name_of(need.called_back_by)}" if need.called_back_by else ""
        return f"called back at {timezone.localtime(need.called_back_at):%H:%M %Z}{who}"
    if not need.owes_call:
        return ""
    if call_late(need, now):
        return f"call-back promised for {by} passed {span(now - need.call_back_by)} ago"
    return f"call back by {by}, {span(need.call_back_by - now)} left"


def call_late(need: Need, now: datetime) -> bool:
    """Whether a promised call back passed and is still owed."""
    return need.owes_call and need.call_back_by is not None and need.call_back_by <= now


def case_notes(*, case: Case, now: datetime) -> list[dict[str, Any]]:
    """What the head of an emergency's case says of its call back, with the way to record it."""
    if not case.urgent:
        return []
    found = Need.objects.select_related("called_back_by", "site").filter(request=case.request)
    need = found.first()
    if need is None:
        return []
    with timezone.override(need_zone(need)):
        said = call_words(need, now)
    link = reverse("quotes:emergency_need", args=[need.pk])
    return [{"words": said, "late": call_late(need, now), "link": link, "to": "The site and call"}]
