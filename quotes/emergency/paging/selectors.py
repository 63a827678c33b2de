"""Whom to call now."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.conf import settings

from quotes.models import Branch, DutyTurn, HireCompany


def turns_at(*, branch_code: str, now: datetime) -> list[DutyTurn]:
    """The turns of this moment: of the branch, else of all branches."""
    found = list(
        DutyTurn.objects.select_related("user")
        .filter(starts_at__lte=now, ends_at__gt=now, user__is_active=True)
        .filter(branch_code__in=["", branch_code])
    )
    own = [turn for turn in found if branch_code and turn.branch_code == branch_code]
    return own or found


def page_addresses(*, branch_code: str, now: datetime) -> list[str]:
    """Who is called by mail: whoever has the duty, else the branch, else the company.

    ``SETWRIGHT_DUTY_EMAILS`` are called besides, always.
    """
    always: Iterable[str] = settings.SETWRIGHT_DUTY_EMAILS
    found = [turn.email for turn in turns_at(branch_code=branch_code, now=now)]
    found = found or list(Branch.objects.filter(code=branch_code).values_list("email", flat=True))
    if not found and not always:
        found = list(HireCompany.objects.order_by("pk").values_list("email", flat=True)[:1])
    return list(dict.fromkeys([*found, *always]))
