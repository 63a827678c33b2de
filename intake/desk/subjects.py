"""Where a finding points: which question, of which row of equipment, would answer it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from intake.desk.words import short
from intake.models import Answer, HireRequest, RequestLoad
from intake.questions.answers import NOTHING, Given
from intake.questions.equipment import EQUIPMENT_QUESTIONS
from intake.questions.question import UNSURE, Kind, Question
from intake.requests.equipment import load_given
from intake.steps.catalogue import QUESTIONS

LOAD_PATH = re.compile(r"^loads\[(\d+)\](?:\.(\w+))?$")
LOAD_QUESTIONS = {question.key: question for question in EQUIPMENT_QUESTIONS}
BY_PATH = {question.path: question for question in QUESTIONS.values() if question.path}
YES_NO_FIELDS = ("float_switch", "restarts_itself")


@dataclass(frozen=True, slots=True)
class Subject:
    """One answer of a request: of the request itself, or of one row of its equipment."""

    question: Question
    load: RequestLoad | None = None

    @property
    def key(self) -> str:
        """How the desk's addresses name it: ``altitude``, ``load-12-nameplate``."""
        if self.load is None:
            return self.question.key
        return f"load-{self.load.pk}-{self.question.key}"

    @property
    def title(self) -> str:
        label = short(self.question.key, self.question.label)
        return label if self.load is None else f"{self.load.name}: {label}"


def subject_of(path: str, loads: list[RequestLoad]) -> Subject | None:
    """The answer a finding's path points at; ``None`` where no single answer does."""
    question = BY_PATH.get(path) or QUESTIONS.get(path)
    if question is not None:
        return Subject(question)
    match = LOAD_PATH.match(path)
    if match is None or int(match[1]) >= len(loads):
        return None
    question = LOAD_QUESTIONS.get(match[2] or "nameplate")
    return Subject(question, loads[int(match[1])]) if question else None


def subject_by_key(key: str, request: HireRequest) -> Subject | None:
    """The answer an address of the desk names; ``None`` where there is no such answer."""
    if key in QUESTIONS:
        return Subject(QUESTIONS[key])
    match = re.match(r"^load-(\d{1,15})-(\w+)$", key)
    if match is None or match[2] not in LOAD_QUESTIONS:
        return None
    load = request.loads.filter(pk=int(match[1])).first()
    return Subject(LOAD_QUESTIONS[match[2]], load) if load else None


def given_at(subject: Subject, request: HireRequest) -> Given:
    """What is answered there now."""
    if subject.load is not None:
        return load_given(subject.load).get(subject.question.key, NOTHING)
    answer = Answer.objects.filter(request=request, key=subject.question.key).first()
    return Given(answer.value, answer.unsure) if answer else NOTHING


def load_put(load: RequestLoad, key: str, given: Given) -> None:
    """Write an answer into its field of a row of equipment."""
    if key in YES_NO_FIELDS:
        setattr(load, key, None if given.unsure else given.value == "yes")
    elif key == "nameplate":
        load.nameplate, load.nameplate_unsure = given.value or "", given.unsure
        load.typical_code = "" if given.value else load.typical_code
    elif key == "quantity":
        load.quantity = int(given.value)
    elif key == "demand_percent":
        load.demand_percent = int(given.value) if given.value else None
    else:
        setattr(load, key, UNSURE if given.unsure else given.value or "")


def written(subject: Subject, given: Given) -> str:
    """An answer in words, as the record keeps it."""
    if given.unsure:
        return "not sure"
    values = given.value if isinstance(given.value, list) else [given.value]
    return ", ".join(_one(subject.question, value) for value in values) or "nothing"


def _one(question: Question, value: object) -> str:
    choice = question.choice(str(value))
    if choice is not None:
        return str(choice.label)
    text = "nothing" if value in (None, "") else str(value)
    bare = question.kind is Kind.QUANTITY and text.replace(".", "").replace(",", "").isdigit()
    return f"{text} {question.measure.shown}" if bare and question.measure else text
