"""One step of the intake: its page, its saving, its keeping while the customer types."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST
from django_htmx.http import trigger_client_event

from intake.models import HireRequest
from intake.questions.answers import Answers, Given
from intake.questions.form import QuestionForm
from intake.questions.question import Question
from intake.questions.row import Row
from intake.questions.said import said
from intake.requests.errors import VersionConflict
from intake.requests.selectors import answers_stamp, journey_of, site_today
from intake.requests.services import answers_keep, answers_save
from intake.steps.catalogue import STEP_BY_KEY
from intake.steps.journey import Journey
from intake.steps.step import Step
from intake.views.access import draft_only
from intake.views.links import frame, next_address, step_address
from intake.views.voltage import voltage_beside

SEEN = "seen"
KEPT = "kept"  # tells the page that what was typed is stored: the picture beside it is drawn anew
BESIDE = {"voltage": voltage_beside}


@require_http_methods(["GET", "HEAD", "POST"])
@draft_only
def step_page(web: HttpRequest, hire_request: HireRequest, step_key: str) -> HttpResponse:
    """Ask a step's questions, or take the answers and go on."""
    step = STEP_BY_KEY[step_key]
    journey = journey_of(hire_request, now=timezone.now())
    if step not in journey.steps:
        return redirect(step_address(hire_request, journey.first_open()))
    if web.method != "POST":
        form = QuestionForm(step.questions, journey.answers)
        return _page(web, hire_request, journey, step, form)
    return _answered(web, hire_request, journey, step)


def _answered(web: HttpRequest, request: HireRequest, journey: Journey, step: Step) -> HttpResponse:
    form = QuestionForm(step.questions, journey.answers, web.POST)
    valid = form.is_valid()
    given, now = form.given(), timezone.now()
    values = {key: answer.value for key, answer in given.items()}
    disagreements = step.compare(values, journey.today)
    if not valid or disagreements:
        problems = form.problems(disagreements)
        return _page(web, request, journey, step, form, status=422, problems=problems)
    try:
        saved = answers_save(
            request=request, step=step, given=given, seen=web.POST.get(SEEN, ""), now=now
        )
    except VersionConflict as conflict:
        clash = differences(step.questions, conflict.data["theirs"], given)
        return _page(web, request, journey, step, form, status=409, clash=clash)
    after = journey.with_answers(saved, site_today(saved, now=now))
    return HttpResponseRedirect(next_address(web, request, after, step))


def _page(
    web: HttpRequest,
    request: HireRequest,
    journey: Journey,
    step: Step,
    form: QuestionForm,
    *,
    status: int = 200,
    **more: Any,
) -> HttpResponse:
    context = frame(web, request, journey, step)
    beside = BESIDE[step.key](request, journey) if step.key in BESIDE else {}
    context |= {
        "step_key": step.key,
        "questions": _questions(form.rows(), beside),
        "seen": answers_stamp(journey.answers, step.questions),
        **more,
    }
    return render(web, "intake/step.html", context, status=status)


def _questions(rows: Iterable[Row], beside: Mapping[str, str]) -> SafeString:
    """The questions below each other; ``beside`` has what stands under one of them, by its key."""
    drawn = (_row(row) + beside.get(row.question.key, "") for row in rows)
    return mark_safe("\n  ".join(drawn))  # noqa: S308


def _row(row: Row) -> SafeString:
    """The question; one of many choices is folded away."""
    return render_to_string("intake/folded.html", {"row": row}) if row.several else row.html


def differences(
    questions: Sequence[Question], theirs: dict[str, Given], mine: dict[str, Given]
) -> list[dict[str, Any]]:
    """Each answer that two tabs gave differently, in words, for the customer to choose."""
    return [
        {
            "label": question.label,
            "theirs": said(question, theirs[question.key]),
            "mine": said(question, mine[question.key]),
        }
        for question in questions
        if question.key in theirs
    ]


@require_POST
@draft_only
def step_keep(web: HttpRequest, hire_request: HireRequest, step_key: str) -> HttpResponse:
    """Keep what is being typed and say so; another tab's answers are never written over."""
    step = STEP_BY_KEY[step_key]
    form = QuestionForm(step.questions, Answers(), web.POST)
    try:
        seen = answers_keep(
            request=hire_request,
            step=step,
            typed=form.as_typed(),
            seen=web.POST.get(SEEN, ""),
            now=timezone.now(),
        )
    except VersionConflict:
        return kept(web, "", _("Changed in another tab. Press Continue to choose which to keep."))
    said = kept(web, seen, _("Saved. You can come back with your link."))
    return trigger_client_event(said, KEPT)


def kept(web: HttpRequest, seen: str, words: str) -> HttpResponse:
    """The line that says what became of the typing, and the new mark of what is stored."""
    return render(web, "intake/kept.html", {"seen": seen, "words": words})
