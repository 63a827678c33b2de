"""Opening a case: a request reached a person."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django.db import transaction

from intake.desk import promise
from intake.desk.search import case_headline, case_search_text
from intake.desk.services.findings import NEEDS_PERSON, findings_reconcile
from intake.desk.services.telling import case_tell
from intake.desk.words import reason_title
from intake.events.services import event_record
from intake.models import NOT_CLOSED, Case, CaseState, HireRequest, SizingRun


@transaction.atomic
def case_open(*, request: HireRequest, run: SizingRun, now: datetime) -> Case:
    """Open the request's case, or open it again, with the findings of ``run``."""
    # 1. A case that is still open only takes the new findings.
    case = Case.objects.filter(request=request).first()
    if case is not None and case.state in NOT_CLOSED:
        findings_reconcile(case=case, run=run)
        return case
    # 2. Else it enters the queue, with a fresh promise.
    case = case or Case(request=request, times_opened=0)
    _enter_queue(case, request, run, now)
    case.full_clean(exclude=["request"])
    case.save()
    # 3. Its findings, the record, and whoever wants to be told.
    findings_reconcile(case=case, run=run)
    event_record(
        kind="case_opened",
        now=now,
        actor="system",
        request=request,
        reason=reason_title(case.reason),
        promised_at=case.promised_at.isoformat(),
    )
    case_tell(kind="case.opened", case=case, now=now)
    return case


def _enter_queue(case: Case, request: HireRequest, run: SizingRun, now: datetime) -> None:
    case.state, case.owner, case.closed_at, case.closing_run = CaseState.OPEN, None, None, None
    case.version += 1 if case.pk else 0
    case.times_opened += 1
    case.first_run = run
    case.urgent = run.requirement.get("application") == "emergency"
    case.starts_on = _start(run.requirement)
    case.reason = leading_reason(run.result)
    case.branch_code = request.branch_code
    case.opened_at = now
    case.promised_at = case.due_at = promise.promised_at(now=now, urgent=case.urgent)
    case.tier = promise.tier(urgent=case.urgent, starts_on=case.starts_on, now=now)
    case.headline = case_headline(request)
    case.search_text = case_search_text(request)


def leading_reason(result: dict[str, Any]) -> str:
    """The code of the finding that brought the request to a person: the first, most telling one."""
    for finding in result.get("findings", []):
        if finding["severity"] == NEEDS_PERSON:
            return str(finding["code"])
    return str(result.get("outcome", "needs_person"))


def _start(requirement: dict[str, Any]) -> date | None:
    written = (requirement.get("hire") or {}).get("start")
    return date.fromisoformat(written) if written else None
