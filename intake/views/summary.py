"""What was asked for, in words: on the check page and where the request stands.

The markup depends on the questions and the language alone. It is drawn once, with marks where the
words go, which are put in each time and kept by nobody.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from html import escape
from itertools import chain
from typing import Any

from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language

from intake.addresses import address
from intake.models import HireRequest, RequestLoad
from intake.questions.equipment import running_questions
from intake.questions.question import Question
from intake.questions.row import TYPED
from intake.questions.said import all_said
from intake.requests.equipment import load_given
from intake.requests.selectors import loads_of
from intake.steps.catalogue import CHECK, EQUIPMENT
from intake.steps.journey import Journey
from intake.steps.step import Step
from intake.views.equipment import load_plate_said
from intake.views.links import RETURN, TO_CHECK, step_address

ADDRESS = "\ue001"  # stands where an address goes
CHANGE = f"?{RETURN}={TO_CHECK}"


def summary(
    request: HireRequest, journey: Journey, *, changeable: bool = False, place: str = ""
) -> dict[str, Any]:
    """The equipment and the answers that apply, step by step, for ``summary.html``.

    ``changeable`` gives each its way to change it; ``place`` stands with the answers on the site.
    """
    steps = [step for step in journey.steps if step is not CHECK and step is not EQUIPMENT]
    return {
        "changeable": changeable,
        "equipment_address": step_address(request, EQUIPMENT) if changeable else "",
        "loads": _joined(_load(request, load, changeable) for load in loads_of(request)),
        "sections": _joined(
            _section(request, journey, step, changeable, place if step.key == "site" else "")
            for step in steps
        ),
    }


def _load(request: HireRequest, load: RequestLoad, changeable: bool) -> str:
    """One row of equipment."""
    given = load_given(load)
    facts = all_said((question, given[question.key]) for question in running_questions(load.kind))
    drawn = _load_drawn(load.kind, get_language() or "", changeable)
    if changeable:
        where = address("intake:load", request.reference, load.pk)
        drawn = drawn.replace(ADDRESS, where + CHANGE)
    name = [load.name, load_plate_said(load), *([load.name] if changeable else ())]
    return _filled(drawn, [str(load.quantity), *name, *facts])


def _section(
    request: HireRequest, journey: Journey, step: Step, changeable: bool, place: str
) -> str:
    """The answers of one step."""
    asked = step.asked(journey.answers)
    words = all_said((question, journey.answers.given(question.key)) for question in asked)
    drawn = _section_drawn(step, asked, get_language() or "", changeable, bool(place))
    if changeable:
        drawn = drawn.replace(ADDRESS, step_address(request, step) + CHANGE)
    return _filled(drawn, [place, *words] if place else words)


@lru_cache(maxsize=256)
def _load_drawn(kind: str, language: str, changeable: bool) -> str:
    facts = running_questions(kind)
    return _drawn("load", {"facts": facts, "changeable": changeable})


@lru_cache(maxsize=1024)
def _section_drawn(
    step: Step, asked: tuple[Question, ...], language: str, changeable: bool, placed: bool
) -> str:
    context = {"step": step, "asked": asked, "changeable": changeable, "placed": placed}
    return _drawn("section", context)


def _drawn(part: str, context: dict[str, Any]) -> str:
    marks = {"words": TYPED, "address": ADDRESS}
    return render_to_string(f"intake/summary_{part}.html", {**context, **marks})


def _filled(drawn: str, words: Iterable[str]) -> str:
    """The markup with the words in their places."""
    typed = [*map(escape, words), ""]
    return "".join(chain.from_iterable(zip(drawn.split(TYPED), typed, strict=True)))


def _joined(parts: Iterable[str]) -> SafeString:
    return mark_safe("".join(parts))  # noqa: S308
