"""What was asked for, in words: on the check page and where the request stands.

The markup depends on the questions and the language alone, so that it is drawn once.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import Any

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language

from intake.addresses import address
from intake.marks import drawn_with_marks, filled, mark
from intake.models import HireRequest, RequestLoad
from intake.questions.equipment import running_questions
from intake.questions.question import Question
from intake.questions.said import all_said
from intake.requests.equipment import load_given
from intake.requests.selectors import loads_of
from intake.steps.catalogue import CHECK, EQUIPMENT
from intake.steps.journey import Journey
from intake.steps.step import Step
from intake.views.equipment import load_plate_said
from intake.views.links import RETURN, TO_CHECK, step_address

CHANGE = f"?{RETURN}={TO_CHECK}"


def summary(
    request: HireRequest, journey: Journey, *, changeable: bool = False, place: str = ""
) -> dict[str, Any]:
    """The equipment and the answers that apply, step by step, for ``summary.html``.

    ``changeable`` gives each its way to change it; ``place`` stands with the answers on the site.
    """
    language = get_language() or ""
    rows = (_load(request, load, language, changeable) for load in loads_of(request))
    return {
        "changeable": changeable,
        "equipment_address": step_address(request, EQUIPMENT) if changeable else "",
        "loads": mark_safe("".join(rows)),  # noqa: S308
        "sections": _sections(request, journey, language, changeable, place),
    }


def _sections(
    request: HireRequest, journey: Journey, language: str, changeable: bool, place: str
) -> SafeString:
    """The answers, step by step."""
    steps = [step for step in journey.steps if step is not CHECK and step is not EQUIPMENT]
    asked = {step: step.asked(journey.answers) for step in steps}
    questions = [question for of_step in asked.values() for question in of_step]
    answers = all_said((one, journey.answers.given(one.key)) for one in questions)
    words = {one.key: answer for one, answer in zip(questions, answers, strict=True)}
    words["place"] = place
    if changeable:
        words |= {address_of(step): step_address(request, step) + CHANGE for step in steps}
    drawn = [
        _section_drawn(step, of_step, language, changeable, bool(place) and step.key == "site")
        for step, of_step in asked.items()
    ]
    return mark_safe(filled("".join(drawn), words))  # noqa: S308


def address_of(step: Step) -> str:
    """The name of the mark where the step's address goes."""
    return f"address of {step.key}"


def _load(request: HireRequest, load: RequestLoad, language: str, changeable: bool) -> str:
    """One row of equipment."""
    given, asked = load_given(load), running_questions(load.kind)
    facts = all_said((question, given[question.key]) for question in asked)
    words = {
        "quantity": str(load.quantity),
        "name": load.name,
        "plate": load_plate_said(load),
        **{question.key: fact for question, fact in zip(asked, facts, strict=True)},
    }
    if changeable:
        words["address"] = address("intake:load", request.reference, load.pk) + CHANGE
    return filled(_load_drawn(load.kind, language, changeable), words)


@lru_cache(maxsize=256)
def _load_drawn(kind: str, language: str, changeable: bool) -> str:
    return drawn_with_marks(
        "intake/summary_load.html",
        *("quantity", "name", "plate", "address"),
        facts=_marked(running_questions(kind)),
        changeable=changeable,
    )


@lru_cache(maxsize=1024)
def _section_drawn(
    step: Step, asked: tuple[Question, ...], language: str, changeable: bool, placed: bool
) -> str:
    return drawn_with_marks(
        "intake/summary_section.html",
        "place",
        address=mark(address_of(step)),
        step=step,
        answers=_marked(asked),
        changeable=changeable,
        placed=placed,
    )


def _marked(questions: Iterable[Question]) -> list[dict[str, Any]]:
    """The questions, each with a mark where its answer goes."""
    return [{"key": one.key, "label": one.label, "said": mark(one.key)} for one in questions]
