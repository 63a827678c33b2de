"""Who has a case: take it, pass it on, put it off, give it back."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from intake.desk.access import may_see
from intake.desk.errors import NotAllowed, ReasonMissing
from intake.desk.moves import case_move
from intake.events.services import event_record
from intake.models import Case, CaseState


def reason_given(text: str) -> str:
    """A reason as it is stored; refused where it is empty."""
    text = text.strip()
    if not text:
        raise ReasonMissing
    return text


@transaction.atomic
def case_claim(*, case: Case, version: int, actor: User, now: datetime) -> None:
    """Take a case from the queue, or over from a colleague; who comes second is told."""
    before = case.owner if case.state == CaseState.CLAIMED else None
    case_move(
        case=case, version=version, target=CaseState.CLAIMED, owner=actor, claimed_at=now,
        snoozed_until=None,
    )  # fmt: skip
    event_record(
        kind="case_taken_over" if before else "case_claimed",
        now=now, actor=actor, request=case.request, version=case.version,
        before=name_of(before) if before else "",
    )  # fmt: skip


@transaction.atomic
def case_give_back(*, case: Case, version: int, actor: User, now: datetime) -> None:
    """Put a case back into the queue for anyone."""
    case_move(case=case, version=version, target=CaseState.OPEN, owner=None, snoozed_until=None)
    event_record(
        kind="case_given_back", now=now, actor=actor, request=case.request, version=case.version
    )


@transaction.atomic
def case_pass_on(
    *, case: Case, version: int, actor: User, to: User, reason: str, now: datetime
) -> None:
    """Hand a case to a colleague who may work it and may see its branch."""
    reason = reason_given(reason)
    if not may_work(to) or not may_see(to, case):
        raise NotAllowed(f"{name_of(to)} cannot work cases of this branch.")
    case_move(
        case=case, version=version, target=CaseState.CLAIMED, owner=to, claimed_at=now,
        snoozed_until=None,
    )  # fmt: skip
    event_record(
        kind="case_passed_on", now=now, actor=actor, request=case.request, version=case.version,
        to=name_of(to), reason=reason,
    )  # fmt: skip


@transaction.atomic
def case_snooze(
    *, case: Case, version: int, actor: User, until: datetime, reason: str, now: datetime
) -> None:
    """Put a case off until a moment at which it returns to the queue by itself."""
    reason = reason_given(reason)
    case_move(case=case, version=version, target=CaseState.SNOOZED, snoozed_until=until)
    event_record(
        kind="case_snoozed", now=now, actor=actor, request=case.request, version=case.version,
        until=until.isoformat(), reason=reason,
    )  # fmt: skip


@transaction.atomic
def note_add(*, case: Case, actor: User, text: str, now: datetime) -> None:
    """Keep a note in the record; it changes nothing, so it needs no version."""
    event_record(
        kind="note_added", now=now, actor=actor, request=case.request, text=reason_given(text)
    )


def may_work(person: User) -> bool:
    """Whether a person works cases at all."""
    return person.is_active and person.has_perms(["intake.read_desk", "intake.work_case"])


def name_of(person: User) -> str:
    """A person's name as the record writes it."""
    return person.get_full_name() or person.get_username()
