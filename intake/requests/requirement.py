"""The requirement document of a request: what the method gets to read of the answers."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from intake.models import HireRequest, RequestLoad
from intake.questions.answers import Answers, Given
from intake.questions.equipment import MOTORS
from intake.questions.question import UNSURE, Kind, Question
from intake.questions.typical import typical_plate
from intake.requests.selectors import answers_of, loads_of
from intake.steps.catalogue import STEPS
from sizing.errors import QuantityRefused
from sizing.quantity import read_number

Document = dict[str, Any]
_FLAGS = {"yes": True, "no": False}


def requirement_document(request: HireRequest) -> Document:
    """The answers that apply and the equipment, in the shape that the method reads."""
    answers = answers_of(request)
    document: Document = {}
    for question in questions_asked(answers):
        given = answers.given(question.key)
        if question.path and not given.empty:
            _put(document, question.path, written(question, given))
    _settle_special(document, answers)
    document["loads"] = [load_document(load) for load in loads_of(request)]
    return document


def questions_asked(answers: Answers) -> Iterable[Question]:
    """The questions that apply to these answers; the rest is neither shown, sent nor priced."""
    for step in STEPS:
        if step.applies(answers):
            yield from step.asked(answers)


def written(question: Question, given: Given) -> Any:
    """An answer as the document writes it: with its unit, as a flag, or ``unsure``."""
    if given.unsure:
        return UNSURE
    if question.kind is Kind.QUANTITY:
        return with_unit(question, str(given.value))
    return _FLAGS.get(given.value, given.value) if question.kind is Kind.CHOICE else given.value


def with_unit(question: Question, text: str) -> str:
    """A quantity with the unit that stood beside its field, where none was typed."""
    assert question.measure is not None
    try:
        read_number(text)
    except QuantityRefused:
        return text
    return f"{text} {question.measure.assumed}"


def load_document(load: RequestLoad) -> Document:
    """One row of equipment as the document writes it."""
    document: Document = {"name": load.name, "kind": load.kind, "quantity": load.quantity}
    document["nameplate"] = _nameplate(load)
    if load.kind in MOTORS:
        document["starting"] = load.starting or UNSURE
        document["restarts_itself"] = _flag(load.restarts_itself)
    if load.kind == "pump":
        document["float_switch"] = _flag(load.float_switch)
        del document["restarts_itself"]
    if load.demand_percent:
        document["demand_factor"] = load.demand_percent / 100
    for name in ("starts_after", "never_with"):
        if getattr(load, name):
            document[name] = getattr(load, name)
    return document


def _nameplate(load: RequestLoad) -> Any:
    if load.nameplate:
        return load.nameplate
    return typical_plate(load.typical_code) if load.typical_code else UNSURE


def _flag(flag: bool | None) -> Any:
    return UNSURE if flag is None else flag


def _put(document: Document, path: str, value: Any) -> None:
    *parents, name = path.split(".")
    for parent in parents:
        document = document.setdefault(parent, {})
    document[name] = value


def _settle_special(document: Document, answers: Answers) -> None:
    """Answers whose question and place in the document are not of one shape."""
    site = document.setdefault("site", {})
    if answers.application == "jobsite_trailer":
        hours = [answers.value("work_from"), answers.value("work_until")]
        site["work_hours"] = "-".join(hours) if all(hours) else UNSURE
    if "redundancy" in site:
        site["redundancy"] = "n+1" if site["redundancy"] is True else "n"
    if isinstance(site.get("towing", {}).get("hitch_class"), str):
        grade = site["towing"]["hitch_class"]
        site["towing"]["hitch_class"] = int(grade) if grade != UNSURE else UNSURE
    if answers.application == "event_lighting" and answers.value("children") == "yes":
        site["public_nearby"] = True
    if UNSURE in document.get("hire", {}).values() or len(document.get("hire", {})) == 1:
        del document["hire"]
