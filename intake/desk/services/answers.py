"""Answers put right or confirmed by a rep. Each change sizes the request again at once."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F

from intake.desk.search import case_headline, case_search_text
from intake.desk.services.holding import reason_given
from intake.desk.services.work import case_hold, case_sized_again
from intake.desk.subjects import Subject, given_at, load_put, written
from intake.events.services import event_record
from intake.models import Answer, Case, CaseFinding, FindingState, HireRequest, SizingRun
from intake.questions.answers import Given


@transaction.atomic
def answer_override(
    *, case: Case, version: int, actor: User, subject: Subject, given: Given, reason: str,
    now: datetime,
) -> SizingRun:  # fmt: skip
    """Change one answer on the customer's behalf, with the reason, and size again."""
    reason = reason_given(reason)
    # 1. The case is the actor's, and nobody changed it meanwhile.
    version = case_hold(case=case, version=version, actor=actor, now=now)
    # 2. The answer, with who and why.
    before = written(subject, given_at(subject, case.request))
    answer_write(request=case.request, subject=subject, given=given, actor=actor, reason=reason,
                 now=now)  # fmt: skip
    event_record(
        kind="answer_overridden", now=now, actor=actor, request=case.request,
        subject=subject.title, before=before, after=written(subject, given), reason=reason,
    )  # fmt: skip
    # 3. The method again, and the case in step with it.
    run, _changes = case_sized_again(case=case, version=version, actor=actor, now=now)
    findings_corrected(case=case, subject=subject, actor=actor, reason=reason, now=now)
    case_words_refresh(case)
    return run


@transaction.atomic
def answer_confirm(
    *, case: Case, version: int, actor: User, subject: Subject, now: datetime
) -> None:
    """Note that an answer was checked with the customer and stands as it is."""
    version = case_hold(case=case, version=version, actor=actor, now=now)
    given = given_at(subject, case.request)
    answer_write(
        request=case.request, subject=subject, given=given, actor=actor, reason="", now=now
    )
    event_record(
        kind="answer_confirmed", now=now, actor=actor, request=case.request,
        subject=subject.title, value=written(subject, given),
    )  # fmt: skip
    case_sized_again(case=case, version=version, actor=actor, now=now)


def answer_write(
    *, request: HireRequest, subject: Subject, given: Given, actor: User | None, reason: str,
    now: datetime,
) -> None:  # fmt: skip
    """Store one answer, of the request or of a row of equipment."""
    if subject.load is None:
        answer, _made = Answer.objects.get_or_create(
            request=request, key=subject.question.key, defaults={"updated_at": now}
        )
        answer.value, answer.unsure = given.value, given.unsure
        row: Answer | object = answer
    else:
        load_put(subject.load, subject.question.key, given)
        row = subject.load
    row.confirmed_by, row.reason, row.updated_at = actor, reason, now  # type: ignore[union-attr]
    row.full_clean(exclude=["request"])  # type: ignore[union-attr]
    row.save()  # type: ignore[union-attr]
    HireRequest.objects.filter(pk=request.pk).update(version=F("version") + 1, updated_at=now)


def findings_corrected(
    *, case: Case, subject: Subject, actor: User, reason: str, now: datetime
) -> None:
    """Findings that went away with this answer were corrected, not merely gone."""
    path = subject_path(subject, case)
    case.findings.filter(state=FindingState.GONE, subject__in=path, settled_by=None).update(
        state=FindingState.CORRECTED, settled_by=actor, settled_at=now, reason=reason
    )


def subject_path(subject: Subject, case: Case) -> list[str]:
    """The paths under which the method names this answer."""
    if subject.load is None:
        return [subject.question.path or subject.question.key]
    index = list(case.request.loads.all()).index(subject.load)
    return [f"loads[{index}]", f"loads[{index}].{subject.question.key}"]


def case_words_refresh(case: Case) -> None:
    """Let the case be found by what is answered now."""
    request = HireRequest.objects.get(pk=case.request_id)
    Case.objects.filter(pk=case.pk).update(
        headline=case_headline(request), search_text=case_search_text(request)
    )


def finding_by_id(case: Case, pk: int) -> CaseFinding | None:
    return case.findings.filter(pk=pk).first()
