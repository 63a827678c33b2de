"""Whom to call now, and whom next."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.conf import settings
from django.contrib.auth.models import User
from django.db.models import Q

from intake.desk.access import branches_of
from quotes.models import Branch, CallStep, DutyTurn, HireCompany

LEADS = Q(groups__name="manager") | Q(is_superuser=True)


def turns_at(*, branch_code: str, now: datetime) -> list[DutyTurn]:
    """The turns of this moment: of the branch, else of all branches."""
    found = list(
        DutyTurn.objects.select_related("user")
        .filter(starts_at__lte=now, ends_at__gt=now, user__is_active=True)
        .filter(branch_code__in=["", branch_code])
    )
    own = [turn for turn in found if branch_code and turn.branch_code == branch_code]
    return own or found


def page_addresses(*, branch_code: str, now: datetime, step: int = CallStep.FIRST) -> list[str]:
    """Who is called by mail: whoever has the duty, else the branch, else the company.

    The next person is whom the owner named, else the managers of the branch, else the company.
    ``SETWRIGHT_DUTY_EMAILS`` are called besides, always.
    """
    always: Iterable[str] = settings.SETWRIGHT_DUTY_EMAILS
    found = _next(branch_code) if step == CallStep.NEXT else _duty(branch_code, now)
    if not found and (step == CallStep.NEXT or not always):
        found = list(HireCompany.objects.order_by("pk").values_list("email", flat=True)[:1])
    return list(dict.fromkeys([*found, *always]))


def _duty(branch_code: str, now: datetime) -> list[str]:
    found = [turn.email for turn in turns_at(branch_code=branch_code, now=now)]
    return found or list(Branch.objects.filter(code=branch_code).values_list("email", flat=True))


def _next(branch_code: str) -> list[str]:
    named: Iterable[str] = settings.EMERGENCY_NEXT_EMAILS
    return list(named) or [user.email for user in managers(branch_code=branch_code)]


def managers(*, branch_code: str) -> list[User]:
    """Managers and owners who can be written to and see the branch's cases."""
    found = User.objects.filter(LEADS, is_active=True).exclude(email="").distinct()
    return [
        user
        for user in found.select_related("staff_profile").order_by("pk")
        if (codes := branches_of(user)) is None or branch_code in ("", *codes)
    ]
