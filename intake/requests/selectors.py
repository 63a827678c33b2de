"""Reading a request: its answers, its way through the intake, its place in time."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db.models import TextField
from django.db.models.functions import Cast

from intake.desk.promise import company_zone
from intake.models import Answer, HireRequest, RequestLoad, SizingRun
from intake.prepared import A_KEY, Prepared, related_rows, rows_put
from intake.questions.answers import Answers, Given
from intake.questions.question import Question
from intake.questions.towns import zip_record
from intake.steps.journey import Journey

ANSWERS = Prepared(lambda request: Answer.objects.filter(request=request), A_KEY)
LOADS = Prepared(lambda request: RequestLoad.objects.filter(request=request), A_KEY)
SAID = Prepared(  # what the answers say, each value as its JSON
    lambda request: Answer.objects.filter(request=request).values_list(
        "key", "unsure", Cast("value", TextField())
    ),
    A_KEY,
)
LAST_RUN = Prepared(
    lambda request: SizingRun.objects.filter(request=request).order_by("-number")[:1], A_KEY
)

LAST_FINDINGS = Prepared(  # of a document many times as long
    lambda request: (
        SizingRun.objects.filter(request=request)
        .order_by("-number")
        .values_list("result__findings")[:1]
    ),
    A_KEY,
)


def given_read_once(request: HireRequest) -> None:
    """Read what was answered and the equipment of a request for a page that only shows them."""
    request.kept_given = _given_read(request)
    request.kept_loads = LOADS.rows(request.pk)


def _given_read(request: HireRequest) -> dict[str, Given]:
    rows = SAID.rows(request.pk)
    values = json.loads(f"[{','.join(value or 'null' for _key, _unsure, value in rows)}]")
    return {
        key: Given(value, unsure) for (key, unsure, _json), value in zip(rows, values, strict=True)
    }


def answers_of(request: HireRequest) -> Answers:
    """Every answer of a request, and whether a float switch may start one of its pumps."""
    return _answers(request, loads_of(request))


def _answers(request: HireRequest, loads: Iterable[RequestLoad]) -> Answers:
    by_key = _given(request) if request.kept_given is None else request.kept_given
    floats = any(load.kind == "pump" and load.float_switch is not False for load in loads)
    return Answers(by_key, has_float_switch=floats)


def _given(request: HireRequest) -> dict[str, Given]:
    """What each answer says, as it stands now or as its rows were put on the request."""
    put: Iterable[Answer] | None = rows_put(request, "answers")
    if put is None:
        return _given_read(request)
    return {row.key: Given(row.value, row.unsure) for row in put}


def loads_of(request: HireRequest) -> Sequence[RequestLoad]:
    """The rows of equipment, in the customer's order."""
    kept = request.kept_loads
    return related_rows(request, "loads", LOADS) if kept is None else kept


def load_found(request: HireRequest, load_id: int) -> RequestLoad | None:
    """A row of this very request."""
    return next((load for load in loads_of(request) if load.pk == load_id), None)


def load_complete(load: RequestLoad) -> bool:
    """The row was answered, even if only with "not sure"."""
    answered = bool(load.nameplate or load.typical_code or load.nameplate_unsure)
    return answered and not load.draft


def journey_of(request: HireRequest, *, now: datetime) -> Journey:
    """The request's way, as it stands on this day at the site."""
    loads = loads_of(request)
    answers = _answers(request, loads)
    complete = bool(loads) and all(load_complete(load) for load in loads)
    return Journey(answers, complete, site_today(answers, now=now))


def site_today(answers: Answers, *, now: datetime) -> date:
    """The day at the site; the company's own day while the site is not known."""
    return now.astimezone(site_zone(answers)).date()


def site_zone(answers: Answers) -> ZoneInfo:
    """The time zone of the site, by its ZIP code."""
    name = zip_zone(str(answers.value("zip") or ""))
    return ZoneInfo(name) if name else company_zone()


def zip_zone(five_digits: str) -> str:
    """The time zone of a ZIP code, empty where there is none."""
    return str(zip_record(five_digits).get("timezone") or "")


def answers_stamp(answers: Answers, questions: Iterable[Question]) -> str:
    """A short mark of what is stored for these questions, to notice a change by another tab."""
    stored = [(q.key, answers.given(q.key).value, answers.given(q.key).unsure) for q in questions]
    return _mark(stored)


def load_stamp(load: RequestLoad) -> str:
    """The same for a row of equipment."""
    return _mark(
        [
            load.name, load.quantity, load.nameplate, load.nameplate_unsure, load.typical_code,
            load.starting, load.demand_percent, load.float_switch, load.restarts_itself,
            load.starts_after, load.never_with, load.draft,
        ]
    )  # fmt: skip


def _mark(stored: object) -> str:
    return hashlib.sha256(json.dumps(stored, sort_keys=True).encode()).hexdigest()[:16]
