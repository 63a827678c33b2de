"""Answers and rows of equipment from a call, checked by the very forms of the pages."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from intake.api.problems import FieldsRefused, error_item
from intake.models import HireRequest, RequestLoad
from intake.questions.answers import Answers, Given
from intake.questions.equipment import equipment_questions
from intake.questions.form import QuestionForm, posted_from
from intake.questions.load_form import LoadForm
from intake.questions.question import UNSURE, Kind, Question
from intake.requests.equipment import load_given
from intake.requests.selectors import answers_of, answers_stamp, load_stamp, site_today
from intake.requests.services import answers_save, load_add, load_save
from intake.steps.catalogue import QUESTIONS, STEPS
from intake.steps.step import Step

Errors = list[dict[str, str]]
FLAGS = {True: "yes", False: "no"}
LONGEST = 5000


def given_of(value: Any) -> Given | None:
    """A JSON value as an answer; ``None`` where it is of no form an answer can have."""
    if value == UNSURE:
        return Given(unsure=True)
    if isinstance(value, bool):
        return Given(FLAGS[value])
    if isinstance(value, int | float):
        return Given(f"{value}")
    if isinstance(value, str):
        return Given(value) if len(value) <= LONGEST else None
    if isinstance(value, list) and all(isinstance(one, str) for one in value):
        return Given(value)
    return None


@transaction.atomic
def answers_take(*, request: HireRequest, said: Mapping[str, Any], now: datetime) -> None:
    """Save answers by question key, all of them or none; every problem is named at once."""
    given, errors = _read(said)
    for step in STEPS:
        wanted = {q.key: given[q.key] for q in step.questions if q.key in given}
        if wanted:
            errors += _step_take(request, step, wanted, now)
    if errors:
        raise FieldsRefused(errors)


def _read(said: Mapping[str, Any]) -> tuple[dict[str, Given], Errors]:
    given: dict[str, Given] = {}
    errors: Errors = []
    for key, value in said.items():
        answer = given_of(value)
        if key not in QUESTIONS:
            errors.append(_error(key, "unknown_question", "There is no such question."))
        elif answer is None or not _shape_fits(QUESTIONS[key], answer):
            sentence = "Give a text, a number, true or false, a list of texts, or “unsure”."
            errors.append(_error(key, "malformed", sentence))
        else:
            given[key] = answer
    return given, errors


def _shape_fits(question: Question, answer: Given) -> bool:
    return isinstance(answer.value, list) == (question.kind is Kind.SEVERAL) or answer.unsure


def _step_take(
    request: HireRequest, step: Step, wanted: Mapping[str, Given], now: datetime
) -> Errors:
    """Check and save the answers of one step, beside those it has already."""
    answers = answers_of(request)
    before = {q.key: answers.given(q.key) for q in step.questions}
    form = QuestionForm(step.questions, answers, posted_from({**before, **wanted}))
    form.is_valid()
    errors = _form_errors(form, wanted)
    given = form.given()
    for key in wanted:
        if key not in given and not errors:
            errors.append(_error(key, "not_asked", "This is not asked for such a job."))
    if errors or not step.applies(answers):
        return errors or [_error(k, "not_asked", "Not asked for such a job.") for k in wanted]
    if not form.errors:
        values = {key: answer.value for key, answer in given.items()}
        found = step.compare(values, site_today(answers, now=now))
        errors += [_error(key, "disagrees", str(sentence)) for key, sentence in found.items()]
    if not errors:
        taken = {key: given[key] for key in wanted}
        stamp = answers_stamp(answers, step.questions)
        answers_save(request=request, step=step, given=taken, seen=stamp, now=now)
        request._prefetched_objects_cache = {}  # type: ignore[attr-defined]
    return errors


def _form_errors(form: QuestionForm, wanted: Mapping[str, Given]) -> Errors:
    return [
        _error(key, "answer_refused", str(sentence))
        for key, sentences in form.errors.items()
        if key in wanted
        for sentence in sentences
    ]


def _error(key: str, code: str, sentence: str) -> dict[str, str]:
    return error_item(f"answers.{key}", code, sentence)


@transaction.atomic
def load_make(
    *, request: HireRequest, asked: Mapping[str, Any], now: datetime, path: str = ""
) -> RequestLoad:
    """A new row of equipment with all its answers."""
    load = load_add(request=request, kind=asked["kind"], now=now)
    load_fill(request=request, load=load, asked=asked, now=now, path=path)
    return load


@transaction.atomic
def load_fill(
    *,
    request: HireRequest,
    load: RequestLoad,
    asked: Mapping[str, Any],
    now: datetime,
    path: str = "",
) -> None:
    """Write all answers of a row: what was left out and may be unsure is unsure."""
    others = tuple(request.loads.exclude(pk=load.pk).values_list("name", flat=True))
    given: dict[str, Given] = {}
    errors: Errors = []
    questions = {q.key: q for q in equipment_questions(load.kind, others)}
    for key, question in questions.items():
        answer = given_of(asked[key]) if key in asked else _left_out(question, load, asked)
        if answer is None or isinstance(answer.value, list):
            errors.append(error_item(f"{path}.{key}", "malformed", "Give a text or a number."))
        else:
            given[key] = answer
    errors += [
        error_item(f"{path}.{key}", "not_asked", f"This is not asked of a {load.kind}.")
        for key in asked
        if key not in questions and key != "kind"
    ]
    form = LoadForm(load.kind, load_given(load), others, posted_from(given))
    if not form.is_valid() or errors:
        errors += [
            error_item(f"{path}.{key}", "answer_refused", str(sentence))
            for key, sentences in form.errors.items()
            for sentence in sentences
        ]
        raise FieldsRefused(errors)
    load_save(request=request, load=load, given=form.given(), seen=load_stamp(load), now=now)


def _left_out(question: Question, load: RequestLoad, asked: Mapping[str, Any]) -> Given:
    if question.key == "name":
        return Given(load.name)
    if question.key == "quantity":
        return Given("1")
    if question.key == "nameplate" and asked.get("typical_code"):
        return Given()
    return Given(unsure=question.not_sure)


def given_checked(question: Question, value: Any) -> Given:
    """One answer put right at the desk, checked as its page would."""
    answer = given_of(value)
    if answer is None or not _shape_fits(question, answer):
        sentence = "Give a text, a number, true or false, a list of texts, or “unsure”."
        raise FieldsRefused([error_item("value", "malformed", sentence)])
    form = QuestionForm(
        [question], Answers({question.key: answer}), posted_from({question.key: answer})
    )
    if not form.is_valid() or question.key not in form.given():
        sentences = form.errors.get(question.key, ["This is not asked for such a job."])
        raise FieldsRefused([error_item("value", "answer_refused", str(s)) for s in sentences])
    return form.given()[question.key]
