"""Asking the customer: by mail with a link to the one question, or on the phone."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction

from intake.desk.errors import NoAddress, QuestionClosed
from intake.desk.moves import case_move, case_touch
from intake.desk.services.answers import answer_write, case_words_refresh
from intake.desk.services.holding import reason_given
from intake.desk.services.telling import case_tell
from intake.desk.services.work import case_hold, case_sized_again
from intake.desk.subjects import Subject, given_at, subject_of, written
from intake.events.services import event_record
from intake.models import (
    Case,
    CaseFinding,
    CaseQuestion,
    CaseState,
    Channel,
    Tier,
)
from intake.outbox.services import outbox_put
from intake.questions.answers import Given


def patience(case: Case) -> timedelta:
    """How long a case waits for the customer before it comes back by itself."""
    if case.urgent:
        return timedelta(minutes=settings.SETWRIGHT_EMERGENCY_ANSWER_MINUTES)
    return timedelta(hours=settings.SETWRIGHT_ASK_AGAIN_HOURS)


@transaction.atomic
def question_ask(
    *, case: Case, version: int, actor: User, finding: CaseFinding | None, words: str, now: datetime
) -> CaseQuestion:
    """Mail one question to the customer; the case waits until it is answered."""
    words = reason_given(words)
    if not customer_email(case):
        raise NoAddress
    version = case_hold(case=case, version=version, actor=actor, now=now)
    question = CaseQuestion(
        case=case, finding=finding, channel=Channel.MAIL, words=words, asked_by=actor, asked_at=now
    )
    question.full_clean(exclude=["case"])
    question.save()
    until = now + patience(case)
    case_move(case=case, version=version, target=CaseState.ASKED, snoozed_until=until)
    event_record(kind="question_asked", now=now, actor=actor, request=case.request, words=words)
    outbox_put(
        topic="intake.mail_customer",
        payload={"request_id": case.request_id, "letter": "question", "question_id": question.pk},
        now=now,
    )
    return question


@transaction.atomic
def question_phone(
    *, case: Case, version: int, actor: User, finding: CaseFinding | None, words: str, answer: str,
    now: datetime,
) -> CaseQuestion:  # fmt: skip
    """Keep a phone call: what was asked and what the customer said."""
    words, answer = reason_given(words), reason_given(answer)
    version = case_hold(case=case, version=version, actor=actor, now=now)
    question = CaseQuestion(
        case=case, finding=finding, channel=Channel.PHONE, words=words, asked_by=actor,
        asked_at=now, answer=answer, answered_at=now,
    )  # fmt: skip
    question.full_clean(exclude=["case"])
    question.save()
    case_touch(case=case, version=version)
    event_record(
        kind="phone_logged", now=now, actor=actor, request=case.request, words=words, answer=answer
    )
    return question


@transaction.atomic
def question_answered(
    *, question: CaseQuestion, given: Given | None, text: str, now: datetime
) -> None:
    """Take the customer's answer to a mailed question; the case comes back to the top.

    1. Take the question, once. 2. Write the answer where it belongs. 3. Size again, and bring the
    case back. A question that points at no single answer keeps the customer's words for the rep.
    """
    case = question.case
    subject = question_subject(question)
    said = written(subject, given) if subject and given else text.strip()
    taken = CaseQuestion.objects.filter(pk=question.pk, answered_at=None, withdrawn_at=None).update(
        answered_at=now, answer=said
    )
    if taken != 1 or case.closed_at is not None:
        raise QuestionClosed
    event_record(
        kind="question_answered", now=now, actor="customer", request=case.request,
        words=question.words, answer=said,
    )  # fmt: skip
    if subject and given:
        _take_answer(case, subject, given, now)
    _back_to_the_top(case, now)
    case_tell(kind="case.answered", case=case, now=now)


def _take_answer(case: Case, subject: Subject, given: Given, now: datetime) -> None:
    before = written(subject, given_at(subject, case.request))
    answer_write(request=case.request, subject=subject, given=given, actor=None, reason="", now=now)
    event_record(
        kind="answer_overridden", now=now, actor="customer", request=case.request,
        subject=subject.title, before=before, after=written(subject, given),
        reason="asked by the desk",
    )  # fmt: skip
    case_sized_again(case=case, version=case.version, actor="system", now=now)
    case_words_refresh(case)


def _back_to_the_top(case: Case, now: datetime) -> None:
    changes = {"tier": min(case.tier, Tier.ANSWERED), "due_at": now, "snoozed_until": None}
    if case.state in (CaseState.ASKED, CaseState.SNOOZED):
        target = CaseState.CLAIMED if case.owner_id else CaseState.OPEN
        case_move(case=case, version=case.version, target=target, **changes)
    else:
        case_touch(case=case, version=case.version, **changes)


def question_subject(question: CaseQuestion) -> Subject | None:
    """The answer a question asks for, where it asks for one."""
    if question.finding is None:
        return None
    return subject_of(question.finding.subject, list(question.case.request.loads.all()))


def customer_email(case: Case) -> str:
    """Where the customer gets mail; empty where they gave none."""
    answer = case.request.answers.filter(key="email").first()
    return str(answer.value or "") if answer else ""
