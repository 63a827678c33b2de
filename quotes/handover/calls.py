"""Service cases: opened with the path of questions that led to them, closed with what it was."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.contrib.auth.models import User
from django.db import transaction

from intake.events.services import event_record
from intake.outbox.services import outbox_put
from quotes.handover.errors import PathRefused, TooManyReports
from quotes.handover.triage import End, path_words, walk
from quotes.handover.units import job_of_unit
from quotes.models import OutUnit, ServiceCase, ServiceCaseState

MOST_AN_HOUR = 12  # of one set, by people who are not signed in


@dataclass(frozen=True, slots=True)
class Caller:
    """Who says it, as far as they tell."""

    name: str = ""
    phone: str = ""
    words: str = ""


@transaction.atomic
def service_case_open(
    *,
    out: OutUnit,
    path: str,
    client_key: UUID,
    caller: Caller,
    staff: User | None = None,
    now: datetime,
) -> ServiceCase:
    """Keep a walk that came to its end; a solved one is kept closed. Sent twice, kept once."""
    OutUnit.objects.select_for_update(of=("self",)).get(pk=out.pk)
    known = ServiceCase.objects.filter(client_key=client_key, out_unit=out).first()
    if known is not None:
        return known
    if staff is None:
        _refuse_flood(out, now)
    job = job_of_unit(out)
    walked = walk(job, path)
    if not isinstance(walked.at, End):
        raise PathRefused("The questions are not at their end yet. Go on answering.")
    solved = walked.at.kind == "solved"
    made = ServiceCase(
        out_unit=out,
        client_key=client_key,
        path=walked.path,
        path_words=path_words(job, walked.steps, "en"),
        end=walked.at.key,
        kind=walked.at.kind,
        name=caller.name,
        phone=caller.phone,
        words=caller.words,
        by_staff=staff,
        opened_at=now,
        state=ServiceCaseState.CLOSED if solved else ServiceCaseState.OPEN,
        closed_at=now if solved else None,
        resolution=walked.at.text.said(job.words) if solved else "",
    )
    made.full_clean(exclude=["out_unit", "by_staff"])
    made.save(force_insert=True)
    _tell(made, staff, now)
    return made


def _refuse_flood(out: OutUnit, now: datetime) -> None:
    """Whoever scans the code may report; nobody may bury the desk with it."""
    lately = ServiceCase.objects.filter(out_unit=out, by_staff=None)
    if lately.filter(opened_at__gt=now - timedelta(hours=1)).count() >= MOST_AN_HOUR:
        raise TooManyReports


def _tell(made: ServiceCase, staff: User | None, now: datetime) -> None:
    event_record(
        kind="service_case_opened",
        now=now,
        actor=staff or "customer",
        request=made.out_unit.order.request,
        subject=made.out_unit.unit.number,
        end=made.end,
        words=made.words or "-",
    )
    if made.state == ServiceCaseState.OPEN:
        outbox_put(
            topic="quotes.mail_service_case", payload={"case_id": made.pk}, queue="mail", now=now
        )


@transaction.atomic
def service_case_close(*, case_id: int, resolution: str, actor: User, now: datetime) -> bool:
    """Close an open case with what it was; say whether this did it."""
    closed = ServiceCase.objects.filter(pk=case_id, state=ServiceCaseState.OPEN).update(
        state=ServiceCaseState.CLOSED, closed_at=now, closed_by=actor, resolution=resolution
    )
    if not closed:
        return False
    case = ServiceCase.objects.select_related("out_unit__unit", "out_unit__order__request").get(
        pk=case_id
    )
    event_record(
        kind="service_case_closed",
        now=now,
        actor=actor,
        request=case.out_unit.order.request,
        subject=case.out_unit.unit.number,
        words=resolution,
    )
    return True
