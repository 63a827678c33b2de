"""Sending a request: once, however often the button is pressed."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from intake.desk.services import case_open
from intake.events.services import event_record
from intake.models import HireRequest, SizingRun, Status
from intake.outbox.services import outbox_put
from intake.prepared import A_KEY, A_MOMENT, Prepared, PreparedUpdate
from intake.requests.errors import AnswerRefused, VersionConflict
from intake.requests.places import branch_assign
from intake.requests.runs import sizing_run_store
from intake.requests.selectors import answers_of, given_read_once, journey_of
from intake.requests.status import request_move
from intake.webhooks.services import webhook_emit

LOCKED = Prepared(lambda pk: HireRequest.objects.select_for_update().filter(pk=pk), A_KEY)
SENT = PreparedUpdate(
    lambda pk, now, language: (
        HireRequest.objects.filter(pk=pk),
        {"submitted_at": now, "language": language},
    ),
    A_KEY,
    A_MOMENT,
    "a language",
)


@transaction.atomic
def request_submit(
    *, request_id: int, version: int, now: datetime, language: str = ""
) -> HireRequest:
    """Send a request on: to pricing where it is clear, to a rep where it is not.

    1. A request that was sent before is returned as it is. 2. The version must be the one whose
    answers were checked. 3. Every step must be complete. 4. The method runs and the run is
    stored. 5. The request moves on, and the work that follows is written to the outbox.
    """
    (request,) = LOCKED.rows(request_id)
    if request.status != Status.DRAFT:
        return request
    if request.version != version:
        raise VersionConflict(version=request.version)
    given_read_once(request)  # under the lock nobody changes it
    _refuse_incomplete(request, now)
    language = language or request.language
    SENT.update(request_id, now, language)
    request.submitted_at = now
    branch_assign(request, str(answers_of(request).value("zip") or ""))
    event_record(kind="request_submitted", now=now, actor="customer", request=request)
    run = sizing_run_store(request=request, now=now)
    event_record(
        kind="sizing_run", now=now, actor="system", request=request,
        number=run.number, outcome=run.outcome,
    )  # fmt: skip
    _send_on(request, run, now)
    (request,) = LOCKED.rows(request_id)
    webhook_emit(
        kind="request.submitted",
        payload={"reference": request.reference, "status": request.status},
        now=now,
    )
    return request


def _refuse_incomplete(request: HireRequest, now: datetime) -> None:
    journey = journey_of(request, now=now)
    if not journey.ready:
        step = journey.first_open()
        raise AnswerRefused({step.key: [str(step.title)]})


def _send_on(request: HireRequest, run: SizingRun, now: datetime) -> None:
    if run.outcome == "recommended":
        _send_to_pricing(request, run, now)
        return
    request_move(request_id=request.pk, origin=Status.DRAFT, target=Status.IN_REVIEW)
    case_open(request=request, run=run, now=now)
    outbox_put(
        topic="intake.mail_customer",
        payload={"request_id": request.pk, "letter": "in_review"},
        now=now,
    )


def _send_to_pricing(request: HireRequest, run: SizingRun, now: datetime) -> None:
    request_move(request_id=request.pk, origin=Status.DRAFT, target=Status.PRICING)
    urgent = run.requirement.get("application") == "emergency"
    outbox_put(
        topic="quotes.build_quote",
        payload={"request_id": request.pk, "run_number": run.number},
        queue="emergency" if urgent else "quotes",
        now=now,
    )
