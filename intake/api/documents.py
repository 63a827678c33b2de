"""Requests, loads and cases as the API gives them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any, NamedTuple

from django.conf import settings
from django.contrib.auth.models import User

from intake.addresses import address
from intake.desk.services.deciding import release_missing
from intake.desk.services.holding import name_of
from intake.desk.services.work import latest_run
from intake.desk.words import full_name
from intake.models import (
    Case,
    CaseFinding,
    CaseQuestion,
    HireRequest,
    RequestLoad,
    SizingRun,
    Status,
)
from intake.prepared import A_KEY, Prepared
from intake.questions.answers import Given
from intake.questions.question import UNSURE
from intake.requests.links import link_token
from intake.requests.selectors import answers_of, given_read_once, journey_of, loads_of
from intake.steps.catalogue import CHECK, QUESTIONS
from sizing.quantity import read_quantity

Document = dict[str, Any]
PROMISED = Prepared(
    lambda request: Case.objects.filter(request=request, closed_at=None).values_list("promised_at"),
    A_KEY,
)


ENDED = Prepared(  # with the last run
    lambda request: (
        SizingRun.objects.filter(request=request)
        .order_by("-number")
        .values_list("outcome", "result__findings")[:1]
    ),
    A_KEY,
)


class RequestRow(NamedTuple):
    """What a list reads of a request, by its columns."""

    pk: int
    reference: str
    status: str
    created_at: datetime
    submitted_at: datetime | None


class CaseRow(NamedTuple):
    """What a list reads of a case, by its columns."""

    pk: int
    request__reference: str
    state: str
    urgent: bool
    reason: str
    headline: str
    branch_code: str
    opened_at: datetime
    promised_at: datetime
    owner__first_name: str | None
    owner__last_name: str | None
    owner__username: str | None


def request_line(request: HireRequest | RequestRow) -> Document:
    """A request as one row of a list."""
    return {
        "reference": request.reference,
        "status": request.status,
        "created_at": moment(request.created_at),
        "submitted_at": moment(request.submitted_at),
    }


def request_document(request: HireRequest, *, now: datetime) -> Document:
    """A request whole: what was said, what is still open, where it stands."""
    given_read_once(request)
    answers = answers_of(request)
    outcome, findings = ENDED.first(request.pk) or (None, [])
    (promised_at,) = PROMISED.first(request.pk) or (None,)
    return {
        **request_line(request),
        "version": request.version,
        "link": settings.SETWRIGHT_SITE_URL
        + address("intake:enter", link_token(request.reference, request.link_generation)),
        "answers": answers_document(answers.by_key),
        "quantities": quantities_document(answers.by_key),
        "loads": [load_document(load) for load in loads_of(request)],
        "open_steps": _open_steps(request, now),
        "outcome": outcome,
        "findings": findings,
        "promised_at": moment(promised_at),
    }


def _open_steps(request: HireRequest, now: datetime) -> list[Document]:
    if request.status != Status.DRAFT:
        return []
    journey = journey_of(request, now=now)
    return [
        {"step": step.key, "title": str(step.title)}
        for step in journey.steps
        if step is not CHECK and not journey.complete(step)
    ]


def answers_document(given: Mapping[str, Given]) -> Document:
    """Answers by key, as they were said."""
    return {key: UNSURE if one.unsure else one.value for key, one in given.items() if not one.empty}


def quantities_document(given: Mapping[str, Given]) -> Document:
    """What was understood of the quantities among the answers: each a value and its unit."""
    found: Document = {}
    for key, one in given.items():
        measure = QUESTIONS[key].measure if key in QUESTIONS else None
        if measure is None or one.unsure or one.empty:
            continue
        value = read_quantity(str(one.value), measure.unit, default_unit=measure.assumed)
        found[key] = {"value": round(value, 6), "unit": measure.unit}
    return found


def load_document(load: RequestLoad) -> Document:
    """One row of equipment."""
    return {
        "id": load.pk,
        "kind": load.kind,
        "name": load.name,
        "quantity": load.quantity,
        "nameplate": UNSURE if load.nameplate_unsure else load.nameplate,
        "typical_code": load.typical_code,
        "starting": load.starting,
        "float_switch": _flag(load.float_switch),
        "restarts_itself": _flag(load.restarts_itself),
        "demand_percent": load.demand_percent,
        "starts_after": load.starts_after,
        "never_with": load.never_with,
    }


def _flag(flag: bool | None) -> bool | str:
    return UNSURE if flag is None else flag


def case_row_line(row: CaseRow) -> Document:
    """A case as one row of the queue."""
    owner = full_name(row.owner__first_name, row.owner__last_name, row.owner__username)
    return _case_line(row, row.request__reference, owner)


def _case_line(case: Case | CaseRow, reference: str, owner: str) -> Document:
    return {
        "reference": reference,
        "state": case.state,
        "urgent": case.urgent,
        "reason": case.reason,
        "headline": case.headline,
        "owner": owner,
        "branch": case.branch_code,
        "opened_at": moment(case.opened_at),
        "promised_at": moment(case.promised_at),
    }


def case_document(case: Case, actor: User) -> Document:
    """A case with its findings, and what still keeps it from being released."""
    findings = list(case.findings.select_related("settled_by").order_by("pk"))
    return {
        **_case_line(case, case.request.reference, name_of(case.owner) if case.owner else ""),
        "version": case.version,
        "findings": [finding_document(finding) for finding in findings],
        "missing": release_missing(findings, latest_run(case.request), actor),
    }


def finding_document(finding: CaseFinding) -> Document:
    """One finding as a rep works through it."""
    return {
        "id": finding.pk,
        "code": finding.code,
        "severity": finding.severity,
        "subject": finding.subject,
        "detail": finding.detail,
        "question": finding.question,
        "evidence": finding.evidence,
        "state": finding.state,
        "settled_by": name_of(finding.settled_by) if finding.settled_by else "",
        "reason": finding.reason,
    }


def question_document(question: CaseQuestion) -> Document:
    """A question that was mailed to the customer."""
    return {
        "id": question.pk,
        "words": question.words,
        "asked_at": moment(question.asked_at),
        "answer": question.answer,
        "answered_at": moment(question.answered_at),
    }


def moment(at: datetime | None) -> str | None:
    """A moment in UTC with Z: local zones have offsets that are no valid date-time."""
    return at.astimezone(UTC).isoformat().replace("+00:00", "Z") if at else None
