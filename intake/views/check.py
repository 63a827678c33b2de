"""Check your answers, and the one button that sends them."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from intake.models import HireRequest
from intake.questions.form import Problem
from intake.requests.assumptions import assumptions_of
from intake.requests.errors import AnswerRefused, VersionConflict
from intake.requests.places import place_sentence
from intake.requests.selectors import journey_of
from intake.requests.services import request_submit
from intake.steps.catalogue import CHECK
from intake.steps.journey import Journey
from intake.views.access import draft_only
from intake.views.links import frame
from intake.views.summary import summary


@require_http_methods(["GET", "HEAD", "POST"])
@draft_only
def check(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """Show every answer; send them when the customer says so."""
    journey = journey_of(hire_request, now=timezone.now())
    if web.method != "POST":
        return _page(web, hire_request, journey, [])
    if not journey.ready:
        return _page(web, hire_request, journey, _open_steps(hire_request, journey))
    return _sent(web, hire_request, journey)


def _sent(web: HttpRequest, request: HireRequest, journey: Journey) -> HttpResponse:
    try:
        request_submit(
            request_id=request.pk,
            version=_version(web),
            now=timezone.now(),
            language=get_language() or "",
        )
    except VersionConflict:
        request.refresh_from_db()
        sentence = _("Your answers changed in another tab. Check them once more, then send.")
        return _page(web, request, journey, [Problem("answers", sentence)], status=409)
    except AnswerRefused as refusal:
        problems = [Problem("answers", s) for found in refusal.problems.values() for s in found]
        return _page(web, request, journey, problems)
    return redirect("intake:status", reference=request.reference)


def _version(web: HttpRequest) -> int:
    text = web.POST.get("version", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else -1


def _page(
    web: HttpRequest,
    request: HireRequest,
    journey: Journey,
    problems: list[Problem],
    status: int = 0,
) -> HttpResponse:
    context = frame(web, request, journey, CHECK)
    place = place_sentence(str(journey.answers.value("zip") or ""))
    context |= {
        **summary(request, journey, changeable=True, place=place),
        "assumptions": assumptions_of(request) if journey.ready else [],
        "open_steps": _open_steps(request, journey),
        "version": request.version,
        "problems": problems,
    }
    return render(web, "intake/check.html", context, status=status or (422 if problems else 200))


def _open_steps(request: HireRequest, journey: Journey) -> list[Problem]:
    return [
        Problem(f"step-{step.key}", _("{step} is not complete yet.").format(step=step.title))
        for step in journey.steps
        if step is not CHECK and not journey.complete(step)
    ]
