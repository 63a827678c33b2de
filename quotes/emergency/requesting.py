"""An ordinary request made for an emergency: its answers, its equipment, its case at the head."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from intake.desk.services import case_open
from intake.models import Answer, Case, HireRequest, Organisation, RequestLoad, SizingRun, Status
from intake.questions.answers import Answers, Given
from intake.requests.doubts import intake_doubts
from intake.requests.places import branch_assign
from intake.requests.requirement import requirement_document
from intake.requests.runs import requirement_read, run_keep
from intake.requests.selectors import answers_of, site_zone
from intake.requests.starting import request_start
from intake.requests.status import request_move
from quotes.emergency.express.asked import UNSURE, Asked, answers_given
from sizing.doubts import backfeed
from sizing.result import finding_document

Document = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Opened:
    """A request that waits for a person, with what opened its case."""

    request: HireRequest
    run: SizingRun
    case: Case


def emergency_request(
    *,
    asked: Asked,
    organisation: Organisation | None,
    loads: Sequence[Document],
    more: Mapping[str, str],
    now: datetime,
) -> Opened:
    """Make the request and open its case, inside the caller's transaction, without sizing.

    ``more`` are further answers by their key.
    """
    request, _token = request_start(language=asked.language, now=now)
    _answer(request, asked, more, now)
    for position, load in enumerate(loads):
        _load(request, position, load, now)
    HireRequest.objects.filter(pk=request.pk).update(submitted_at=now, organisation=organisation)
    branch_assign(request, asked.zip)
    request_move(request_id=request.pk, origin=Status.DRAFT, target=Status.IN_REVIEW)
    request.refresh_from_db()
    run = _first_run(request, now)
    return Opened(request, run, case_open(request=request, run=run, now=now))


def _answer(request: HireRequest, asked: Asked, more: Mapping[str, str], now: datetime) -> None:
    there = asked.need_by.astimezone(site_zone(Answers({"zip": Given(asked.zip)})))
    given = answers_given(asked, need_by=there.isoformat(timespec="minutes"))
    given |= {key: Given(value) for key, value in more.items()}
    Answer.objects.bulk_create(
        Answer(request=request, key=key, value=one.value, unsure=one.unsure, updated_at=now)
        for key, one in given.items()
    )


def _load(request: HireRequest, position: int, load: Document, now: datetime) -> None:
    plate = "" if load["nameplate"] == UNSURE else str(load["nameplate"])
    row = RequestLoad(
        request=request,
        position=position,
        name=load["name"],
        kind=load["kind"],
        quantity=load.get("quantity", 1),
        starting=load.get("starting", UNSURE),
        nameplate=plate,
        nameplate_unsure=not plate,
        updated_at=now,
    )
    row.clean_fields(exclude=["request"])
    row.save()


def _first_run(request: HireRequest, now: datetime) -> SizingRun:
    """What can be said without sizing: why a person must look. A worker sizes it right after."""
    document = requirement_document(request)
    site = requirement_read(document).site
    found = [
        *intake_doubts(answers_of(request)),
        *(finding_document(one) for one in backfeed(site)),
    ]
    result: Document = {
        "outcome": "needs_person", "demand": {}, "recommendation": None, "alternatives": [],
        "findings": found, "trace": [], "cautions": [], "versions": {},
    }  # fmt: skip
    return run_keep(request=request, document=document, fleet=(), result=result, now=now)
