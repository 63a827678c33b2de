"""One answer, changed on the customer's behalf."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from intake.desk.access import case_of, desk_page
from intake.desk.services.answers import answer_override
from intake.desk.subjects import Subject, given_at, subject_by_key
from intake.desk.views.case import back_to, render_case
from intake.models import Case
from intake.questions.answers import Answers
from intake.questions.form import UNSURE_SUFFIX, QuestionForm
from intake.requests.errors import AnswerRefused, ServiceRefusal


@desk_page("work_case")
def answer(request: HttpRequest, reference: str, key: str) -> HttpResponse:
    """A form of one question; saved, the case is sized again and shown with the difference."""
    assert isinstance(request.user, User)
    case = case_of(request.user, reference)
    subject = subject_by_key(key, case.request)
    if subject is None:
        raise Http404("no such answer")
    form = answer_form(case, subject, request)
    if request.method == "POST" and form.is_valid():
        return _save(request, case, subject, form)
    return _render(request, case, subject, form)


def answer_form(case: Case, subject: Subject, request: HttpRequest) -> QuestionForm:
    """The question as the customer saw it, filled with what is answered now."""
    key, given = subject.question.key, given_at(subject, case.request)
    data = request.POST.copy() if request.method == "POST" else None
    if data is not None and data.get(key, "") not in ("", str(given.value or "")):
        data.pop(key + UNSURE_SUFFIX, None)  # who types a new value is sure of it
    return QuestionForm([subject.question], Answers({key: given}), data)


def _save(request: HttpRequest, case: Case, subject: Subject, form: QuestionForm) -> HttpResponse:
    assert isinstance(request.user, User)
    seen = request.POST.get("version", "")
    try:
        answer_override(
            case=case,
            version=int(seen[:9]) if seen.isdigit() else 0,
            actor=request.user,
            subject=subject,
            given=form.given()[subject.question.key],
            reason=request.POST.get("reason", ""),
            now=timezone.now(),
        )
    except AnswerRefused as refusal:
        problems = [words for sentences in refusal.problems.values() for words in sentences]
        return _render(request, case, subject, form, problems)
    except ServiceRefusal as refusal:
        if refusal.status_code == 422:
            return _render(request, case, subject, form, [str(refusal)])
        fresh = case_of(request.user, case.request.reference)
        return render_case(request, fresh, refusal=refusal)
    return back_to(case, "sizing")


def _render(
    request: HttpRequest, case: Case, subject: Subject, form: QuestionForm,
    refused: list[str] | None = None,
) -> HttpResponse:  # fmt: skip
    context = {
        "case": case,
        "subject": subject,
        "row": form.rows()[0] if form.rows() else None,
        "refused": refused or [],
        "reason": request.POST.get("reason", request.GET.get("reason", "")),
        "version": request.POST.get("version") or case.version,
        "seen": request.POST.get("seen") or last_event(case),
    }
    partial = request.headers.get("HX-Request") and request.method == "GET"
    template = "intake/desk/answer_form.html" if partial else "intake/desk/answer.html"
    bad = request.method == "POST"
    return render(request, template, context, status=422 if bad else 200)


def last_event(case: Case) -> int:
    """The newest entry of the record when a page was made."""
    return case.request.events.order_by("-pk").values_list("pk", flat=True).first() or 0
