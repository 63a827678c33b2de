"""Running the method on a request and storing the run whole."""

from __future__ import annotations

import hashlib
import json
from datetime import date, datetime
from functools import cache
from importlib.metadata import version
from typing import Any

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction
from django.utils.module_loading import import_string

from intake.models import HireRequest, SizingRun
from intake.prepared import A_KEY, Prepared
from intake.prepared_rows import PreparedInsert
from intake.requests.doubts import intake_doubts
from intake.requests.errors import AnswerRefused
from intake.requests.requirement import Document, requirement_document
from intake.requests.selectors import answers_of
from sizing.errors import DocumentRefused
from sizing.fleet import GeneratorSet
from sizing.recommend import recommend
from sizing.requirement import Requirement, read_requirement

KEPT = PreparedInsert(SizingRun)
NUMBERS = Prepared(
    lambda request: (
        SizingRun.objects.filter(request=request).order_by("-number").values_list("number")[:1]
    ),
    A_KEY,
)


@transaction.atomic
def sizing_run_store(
    *, request: HireRequest, now: datetime, made_by: User | None = None
) -> SizingRun:
    """Size the request as it is answered now, and keep what went in and what came out."""
    document = requirement_document(request)
    fleet = fleet_for(document)
    result = sized(request, document, fleet)
    return run_keep(
        request=request, document=document, fleet=fleet, result=result, now=now, made_by=made_by
    )


@transaction.atomic
def run_keep(
    *,
    request: HireRequest,
    document: Document,
    fleet: tuple[GeneratorSet, ...],
    result: Document,
    now: datetime,
    made_by: User | None = None,
) -> SizingRun:
    """Keep what went in and what came out; for work too long to be done in a transaction."""
    run = SizingRun(
        request=request,
        number=_next_number(request),
        requirement=document,
        result=result,
        outcome=result["outcome"],
        fleet_digest=digest([repr(set_) for set_ in fleet]),
        tables_digest=digest(result.get("versions", {})),
        code_version=code_version(),
        made_by=made_by,
        made_at=now,
    )
    run.full_clean(exclude=["request"])
    KEPT.row(run)
    return run


def sized(request: HireRequest, document: Document, fleet: tuple[GeneratorSet, ...]) -> Document:
    """The method's result with the intake's own doubts beside its findings."""
    result: Document = recommend(requirement_read(document), fleet).document()
    doubts = intake_doubts(answers_of(request))
    result["findings"] = [*doubts, *result["findings"]]
    if any(doubt["severity"] == "needs_person" for doubt in doubts):
        result["outcome"] = "needs_person"
        if result.get("recommendation"):
            result["recommendation"]["provisional"] = True
    return result


def requirement_read(document: Document) -> Requirement:
    """The document as the method reads it; a refusal names every answer at fault."""
    try:
        return read_requirement(document)
    except DocumentRefused as refusal:
        problems: dict[str, list[str]] = {}
        for problem in refusal.problems:
            problems.setdefault(problem.path, []).append(problem.message)
        raise AnswerRefused(problems) from refusal


def fleet_for(document: Document) -> tuple[GeneratorSet, ...]:
    """The owner's sets, of all branches, from wherever the installation keeps them."""
    hire = document.get("hire", {})
    start, end = (
        date.fromisoformat(hire[key]) if key in hire else None for key in ("start", "end")
    )
    source: Any = import_string(settings.SETWRIGHT_FLEET_SOURCE)
    found: tuple[GeneratorSet, ...] = source(starts_on=start, ends_on=end)
    return found


def _next_number(request: HireRequest) -> int:
    (last,) = NUMBERS.first(request.pk) or (0,)
    return last + 1


@cache
def code_version() -> str:
    """The version installed, looked up once a process: it reads a file."""
    return version("setwright")


def digest(facts: object) -> str:
    return hashlib.sha256(json.dumps(facts, sort_keys=True, default=str).encode()).hexdigest()
