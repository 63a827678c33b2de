"""The first page, and the way back in by the link."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import get_language
from django.views.decorators.http import require_http_methods, require_safe

from intake.models import HireRequest, Status
from intake.questions.answers import Answers
from intake.questions.applications import APPLICATION
from intake.questions.form import QuestionForm
from intake.requests.errors import LinkRefused
from intake.requests.links import COOKIE, request_by_token
from intake.requests.selectors import journey_of
from intake.requests.services import request_start
from intake.steps.catalogue import CHECK, EQUIPMENT, START
from intake.steps.step import Step
from intake.views.access import kept_private, link_refused
from intake.views.links import equipment_entry, step_address


@require_http_methods(["GET", "HEAD", "POST"])
def start(web: HttpRequest) -> HttpResponse:
    """Ask what is being powered; the answer starts the request."""
    posted = web.POST if web.method == "POST" else None
    form = QuestionForm(START.questions, Answers(), posted)
    if posted is not None and form.is_valid():
        return _started(web, form.given()[APPLICATION.key].value)
    problems = form.problems() if posted is not None else []
    context = {"form": form, "rows": form.rows(), "problems": problems}
    return render(web, "intake/start.html", context, status=422 if problems else 200)


def _started(web: HttpRequest, application: str) -> HttpResponse:
    request, token = request_start(
        language=get_language() or "en", now=timezone.now(), application=application
    )
    return with_key(web, redirect(equipment_entry(request)), request, token)


@require_safe
def enter(web: HttpRequest, token: str) -> HttpResponse:
    """Take the key from the link, keep it for this request's pages, show a clean address."""
    try:
        request = request_by_token(token, now=timezone.now())
    except LinkRefused:
        return link_refused(web)
    asked = web.GET.get("asked", "")
    where = asked_address(request, asked) if asked.isdigit() else entry_address(request)
    return with_key(web, redirect(where), request, token)


def asked_address(request: HireRequest, question_id: str) -> str:
    """The page of one question of the desk."""
    return reverse("intake:asked", args=[request.reference, int(question_id[:15])])


def entry_address(request: HireRequest) -> str:
    """Where a returning customer goes on: the first open step, or where the request stands."""
    if request.status != Status.DRAFT:
        return step_address(request, None)
    step: Step = journey_of(request, now=timezone.now()).first_open()
    if step is EQUIPMENT:
        return equipment_entry(request)
    return step_address(request, CHECK if step is CHECK else step)


def with_key(
    web: HttpRequest, response: HttpResponse, request: HireRequest, token: str
) -> HttpResponse:
    """Set the cookie that opens the request's own pages and is sent to no others."""
    response.set_cookie(
        COOKIE,
        token,
        expires=request.link_expires_at,
        path=f"/request/{request.reference}/",
        secure=web.is_secure(),
        httponly=True,
        samesite="Lax",
    )
    return kept_private(response)
