"""Stories under way in the demo: some priced, some with a rep, so that the desk is not empty."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction

import demo_fixtures
from intake.models import Answer, HireRequest, RequestLoad
from intake.questions.question import Kind, Question
from intake.requests.requirement import questions_asked
from intake.requests.selectors import answers_of
from intake.requests.starting import request_start
from intake.requests.submitting import request_submit

Document = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Teller:
    """Who tells a story, where and how soon the hire starts, and what else they answer."""

    story: str
    name: str
    company: str
    zip: str
    in_days: int
    says: dict[str, Any] = field(default_factory=dict)


TELLERS = (
    Teller("dewatering", "Alma Reyes-Demo", "Lowland Drilling (demo)", "80424", 9,
           {"float_starts_set": "set"}),
    Teller("jobsite_trailer", "Bo Castell-Demo", "Graystone Builders (demo)", "80216", 12,
           {"altitude": "5250 ft"}),
    Teller("event_lighting", "Cleo Marsh-Demo", "Ridge Park Nights (demo)", "80202", 20,
           {"altitude": "5280 ft", "ambient": "60 degF"}),
    Teller("emergency_shelter", "Dana Holt-Demo", "Alder Flats shelter (demo)", "80701", 3,
           {"altitude": "4330 ft", "ambient": "70 degF"}),
    Teller("unsure_voltage", "Eli Frost-Demo", "Mudline Pumping (demo)", "80216", 6,
           {"altitude": "5250 ft"}),
    Teller("contradictory_nameplate", "Fay Linden-Demo", "Tall Pine Mill (demo)", "80424", 15,
           {"altitude": "9600 ft", "ambient": "60 degF"}),
)  # fmt: skip

USUAL: dict[str, Any] = {
    "delivery": "deliver",
    "phone": "+13035550100",
    "public_nearby": "no",
    "crossing": "no",
    "feeds_building": "no",
    "overnight": "no",
    "dimmers": "no",
    "children": "no",
    "facility": "shelter",
    "life_support": "no",
    "standing_set": "no",
    "redundancy": "no",
    "lights_until": "23:00",
    "work_from": "07:00",
    "work_until": "17:00",
}


def stories_load(*, now: datetime) -> int:
    """Send the stories that were not sent yet; return how many that were."""
    return sum(_story_load(teller, now) for teller in TELLERS)


@transaction.atomic
def _story_load(teller: Teller, now: datetime) -> bool:
    if Answer.objects.filter(key="company", value=teller.company).exists():
        return False
    document = demo_fixtures.story(teller.story)
    request, _token = request_start(language="en", now=now)
    for position, load in enumerate(document["loads"]):
        _load_write(request, position, load, now)
    _answers_write(request, teller, document, now)
    request.refresh_from_db()
    request_submit(request_id=request.pk, version=request.version, now=now)
    return True


def _load_write(request: HireRequest, position: int, load: Document, now: datetime) -> None:
    RequestLoad.objects.create(
        request=request,
        position=position,
        name=load["name"],
        kind=load["kind"],
        quantity=load.get("quantity", 1),
        nameplate=load["nameplate"],
        starting=load.get("starting", "unsure"),
        float_switch=load.get("float_switch"),
        restarts_itself=load.get("restarts_itself"),
        starts_after=load.get("starts_after", ""),
        never_with=load.get("never_with", ""),
        draft=False,
        updated_at=now,
    )


def _answers_write(request: HireRequest, teller: Teller, document: Document, now: datetime) -> None:
    """Answer step by step: which questions come next depends on the answers before."""
    said = {**_own_answers(teller, document, now), **teller.says}
    _answer(request, "application", document["application"], now)
    while True:
        answers = answers_of(request)
        open_ = [q for q in questions_asked(answers) if answers.given(q.key).empty]
        wanted = [q for q in open_ if _value(q, said, document) is not None or not q.optional]
        if not wanted:
            return
        for question in wanted:
            _answer(request, question.key, _value(question, said, document), now)


def _own_answers(teller: Teller, document: Document, now: datetime) -> dict[str, Any]:
    first = now.date() + timedelta(days=teller.in_days)
    hire = document["hire"]
    length = date.fromisoformat(hire["end"]) - date.fromisoformat(hire["start"])
    return {
        "contact_name": teller.name,
        "company": teller.company,
        "email": f"{teller.name.split()[0].lower()}@customers.example",
        "site_contact": teller.name,
        "zip": teller.zip,
        "hire_start": first.isoformat(),
        "hire_end": (first + length).isoformat(),
    }


def _value(question: Question, said: dict[str, Any], document: Document) -> Any:
    """What the teller says to a question, else what the story says, else what is usual."""
    key, told = question.key, _at(document, question.path)
    return _typed(question, said.get(key, USUAL.get(key) if told is None else told))


def _typed(question: Question, found: Any) -> Any:
    if isinstance(found, bool):
        return "yes" if found else "no"
    if question.kind is Kind.QUANTITY and isinstance(found, (int, float)):
        return f"{found:g}"
    return found


def _at(document: Document, path: str) -> Any:
    found: Any = document
    for name in path.split(".") if path else ["-"]:
        found = found.get(name) if isinstance(found, dict) else None
    return found


def _answer(request: HireRequest, key: str, value: Any, now: datetime) -> None:
    unsure = value is None or value == "unsure"
    Answer.objects.update_or_create(
        request=request,
        key=key,
        defaults={
            "value": None if unsure else value,
            "unsure": unsure,
            "updated_at": now,
        },
    )
