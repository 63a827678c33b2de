"""Roles and branches of the people at the desk, and which findings need two of them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.contrib.auth.models import Group, User
from django.db import transaction

from intake.desk.errors import NotAllowed
from intake.desk.roles import ROLES
from intake.desk.services.holding import name_of
from intake.events.services import event_record
from intake.models import FourEyesRule, StaffProfile


@transaction.atomic
def staff_set(
    *, person: User, role: str, branch_codes: Sequence[str], all_branches: bool, actor: User,
    now: datetime,
) -> None:  # fmt: skip
    """Give a person a role and branches. Nobody changes the own role."""
    if person.pk == actor.pk:
        raise NotAllowed("Nobody changes the own role: ask another manager.")
    if role not in ROLES:
        raise NotAllowed("There is no such role.")
    before = staff_words(person)
    person.groups.remove(*Group.objects.filter(name__in=ROLES))
    person.groups.add(Group.objects.get(name=role))
    StaffProfile.objects.update_or_create(
        user=person, defaults={"branch_codes": list(branch_codes), "all_branches": all_branches}
    )
    event_record(
        kind="staff_changed", now=now, actor=actor, subject=name_of(person), role=role,
        branches="all branches" if all_branches else ", ".join(branch_codes) or "no branch",
        before=before,
    )  # fmt: skip


def staff_words(person: User) -> str:
    """A person's role and branches in a few words."""
    roles = ", ".join(person.groups.filter(name__in=ROLES).values_list("name", flat=True))
    profile = StaffProfile.objects.filter(user=person).first()
    where = "no branch"
    if profile is not None:
        where = "all branches" if profile.all_branches else ", ".join(profile.branch_codes)
    return f"{roles or 'no role'} for {where or 'no branch'}"


@transaction.atomic
def four_eyes_set(*, codes: Sequence[str], over_kw: int | None, actor: User, now: datetime) -> None:
    """Say which findings need two people from now on; open cases keep what they came with."""
    size = [FourEyesRule.OVER_SIZE] if over_kw else []
    wanted = sorted({*codes, *size} - ({FourEyesRule.OVER_SIZE} - {*size}))
    FourEyesRule.objects.exclude(code__in=wanted).delete()
    for code in wanted:
        rule = FourEyesRule.objects.filter(code=code).first() or FourEyesRule(code=code)
        rule.over_kw = over_kw if code == FourEyesRule.OVER_SIZE else None
        rule.full_clean()
        rule.save()
    event_record(kind="four_eyes_changed", now=now, actor=actor, codes=wanted, over_kw=over_kw)
