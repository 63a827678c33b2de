"""Saving the answers of a page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime

from django.db import transaction

from intake.events.services import event_record
from intake.models import Answer, HireRequest
from intake.questions.answers import Answers, Given
from intake.requests.drafts import draft_touch
from intake.requests.errors import VersionConflict
from intake.requests.selectors import answers_of, answers_stamp
from intake.steps.step import Step


@transaction.atomic
def answers_save(
    *, request: HireRequest, step: Step, given: Mapping[str, Given], seen: str, now: datetime
) -> Answers:
    """Save a page that passed its checks, and return the answers as they are stored then.

    1. Only a draft takes answers. 2. ``seen`` is the mark of what the page showed: where another
    tab has saved something else meanwhile, nothing is written. 3. Each answer that changed is
    written and recorded.
    """
    draft_touch(request, now=now)
    before = answers_of(request)
    _refuse_overwriting(before, step, given, seen)
    for key, answer in given.items():
        if answer != before.given(key):
            _write(request, key, answer, now)
            event_record(
                kind="answer_saved",
                now=now,
                actor="customer",
                request=request,
                subject=key,
                value="not sure" if answer.unsure else answer.value,
            )
    return replace(before, by_key={**before.by_key, **given})


@transaction.atomic
def answers_keep(
    *, request: HireRequest, step: Step, typed: Mapping[str, Given], seen: str, now: datetime
) -> str:
    """Keep what is being typed, right or not yet, and return the mark of what is stored now."""
    before = answers_of(request)
    if not _changed(before, typed):
        return answers_stamp(before, step.questions)  # late news of what was saved meanwhile
    draft_touch(request, now=now)
    before = answers_of(request)  # as they stand now that no other tab may write
    changed = _changed(before, typed)
    _refuse_overwriting(before, step, changed, seen)
    for key, answer in changed.items():
        _write(request, key, answer, now)
    return answers_stamp(answers_of(request), step.questions)


def _changed(before: Answers, typed: Mapping[str, Given]) -> dict[str, Given]:
    return {key: answer for key, answer in typed.items() if answer != before.given(key)}


def _refuse_overwriting(before: Answers, step: Step, given: Mapping[str, Given], seen: str) -> None:
    if answers_stamp(before, step.questions) == seen:
        return
    theirs = {
        key: before.given(key)
        for key, answer in given.items()
        if before.given(key) != answer and not before.given(key).empty
    }
    if theirs:
        raise VersionConflict(theirs=theirs)


def _write(request: HireRequest, key: str, answer: Given, now: datetime) -> None:
    """The draft was touched before, so that no other tab writes the same answer meanwhile."""
    fields = {"value": answer.value, "unsure": answer.unsure, "updated_at": now}
    if not Answer.objects.filter(request=request, key=key).update(**fields):
        Answer.objects.create(request=request, key=key, **fields)
