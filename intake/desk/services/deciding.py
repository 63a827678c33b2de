"""Ending a case: released to quote, or declined."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from intake.desk.difference import failing, sets_written
from intake.desk.errors import ManagerNeeded, NothingToQuote, NotSettled, SecondPersonNeeded
from intake.desk.figures import is_needless
from intake.desk.moves import case_move
from intake.desk.services.holding import reason_given
from intake.desk.services.settling import awaits_second, findings_open
from intake.desk.services.telling import case_tell
from intake.desk.services.work import case_hold, latest_run
from intake.desk.words import reason_title
from intake.events.services import event_record
from intake.models import Case, CaseFinding, CaseState, SizingRun, Status
from intake.outbox.services import outbox_put
from intake.requests.errors import ServiceRefusal
from intake.requests.status import request_move


@transaction.atomic
def case_release(*, case: Case, version: int, actor: User, now: datetime) -> None:
    """Release a case to quoting."""
    # 1. Nothing is left undecided, and there is something to quote.
    version = case_hold(case=case, version=version, actor=actor, now=now)
    run = release_allowed(case, actor)
    # 2. The case closes and the request moves on, each only from where it was seen.
    case_move(
        case=case, version=version, target=CaseState.RELEASED, closed_at=now, closing_run=run,
        snoozed_until=None, needless=is_needless(case, _first_result(case), run.result),
    )  # fmt: skip
    request_move(request_id=case.request_id, origin=Status.IN_REVIEW, target=Status.PRICING)
    event_record(
        kind="case_released", now=now, actor=actor, request=case.request,
        set=sets_written(run.result), run=run.number,
    )  # fmt: skip
    case_tell(kind="case.closed", case=case, now=now)
    # 3. The quote is built by a worker.
    outbox_put(
        topic="quotes.build_quote",
        payload={"request_id": case.request_id, "run_number": run.number},
        queue="emergency" if case.urgent else "quotes",
        now=now,
    )


def _first_result(case: Case) -> dict[str, Any]:
    return case.first_run.result if case.first_run else {}


def release_allowed(case: Case, actor: User) -> SizingRun:
    """The run to be quoted, or the refusal that says what is still missing."""
    run = latest_run(case.request)
    refusal = release_refusal(list(case.findings.all()), run, actor)
    if refusal is not None:
        raise refusal
    assert run is not None
    return run


def release_refusal(
    findings: Sequence[CaseFinding], run: SizingRun | None, actor: User
) -> ServiceRefusal | None:
    """Why a case cannot be released by this person now, if it cannot."""
    undecided = findings_open(findings)
    if undecided and all(awaits_second(finding) for finding in undecided):
        return SecondPersonNeeded()
    if undecided:
        names = ", ".join(sorted({reason_title(finding.code) for finding in undecided}))
        return NotSettled(f"Still to decide: {names}.")
    if run is None or not run.result.get("recommendation"):
        return NothingToQuote()
    if failing(run.result) and not actor.has_perm("intake.override_check"):
        return ManagerNeeded(
            f"Failing: {', '.join(failing(run.result))}. A manager may release it."
        )
    return None


def release_missing(findings: Sequence[CaseFinding], run: SizingRun | None, actor: User) -> str:
    """What is still missing before this person can release, in one sentence; empty if nothing."""
    refusal = release_refusal(findings, run, actor)
    return str(refusal) if refusal else ""


@transaction.atomic
def case_decline(*, case: Case, version: int, actor: User, words: str, now: datetime) -> None:
    """Decline a request, with words the customer can use, sent by mail and shown on their page."""
    words = reason_given(words)
    version = case_hold(case=case, version=version, actor=actor, now=now)
    case_move(
        case=case, version=version, target=CaseState.DECLINED, closed_at=now,
        customer_words=words[:1000], snoozed_until=None, closing_run=latest_run(case.request),
    )  # fmt: skip
    request_move(request_id=case.request_id, origin=Status.IN_REVIEW, target=Status.DECLINED)
    event_record(kind="case_declined", now=now, actor=actor, request=case.request, words=words)
    outbox_put(
        topic="intake.mail_customer",
        payload={"request_id": case.request_id, "letter": "declined"},
        now=now,
    )
    case_tell(kind="case.closed", case=case, now=now)
