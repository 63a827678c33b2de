"""Storing a rep's own choice of set or accessories; the checks run again with it."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from intake.desk.choosing import Choice
from intake.desk.difference import failing, sets_written
from intake.desk.services.holding import reason_given
from intake.desk.services.work import case_hold, case_sized_again
from intake.events.services import event_record
from intake.models import Case, SizingRun


@transaction.atomic
def choice_store(
    *, case: Case, version: int, actor: User, choice: Choice, now: datetime
) -> SizingRun:
    """Put another set or other accessories in the first place, with the reason."""
    reason = reason_given(choice.reason)
    version = case_hold(case=case, version=version, actor=actor, now=now)
    run, _changes = case_sized_again(
        case=case, version=version, actor=actor, now=now, choice=choice
    )
    event_record(
        kind="choice_made" if not choice.empty else "choice_dropped",
        now=now, actor=actor, request=case.request, set=sets_written(run.result), reason=reason,
        failing=", ".join(failing(run.result)) or "none",
    )  # fmt: skip
    return run
