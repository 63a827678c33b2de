"""One question of the desk, asked by mail: answered on a page of its own."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods

from intake.desk.errors import QuestionClosed
from intake.desk.services.asking import question_answered, question_subject
from intake.desk.subjects import Subject, given_at
from intake.models import CaseQuestion, HireRequest
from intake.questions.answers import Answers
from intake.questions.form import Problem, QuestionForm
from intake.questions.question import Kind, Question
from intake.requests.errors import AnswerRefused
from intake.views.access import holder_of_link

IN_WORDS = Question(
    key="in_words",
    kind=Kind.LONG_TEXT,
    label=_("Your answer"),
    missing=_("Write your answer, or call us."),
    not_sure=False,
    longest=2000,
)


@require_http_methods(["GET", "HEAD", "POST"])
@holder_of_link
def asked(web: HttpRequest, hire_request: HireRequest, question_id: int) -> HttpResponse:
    """Ask the one thing, take the answer, say what happens next."""
    question = CaseQuestion.objects.filter(pk=question_id, case__request=hire_request).first()
    if question is None or question.withdrawn_at or question.case.closed_at:
        return redirect("intake:status", reference=hire_request.reference)
    if question.answered_at:
        return _page(web, hire_request, question, None)
    subject = question_subject(question)
    form = _form(web, hire_request, subject)
    if web.method == "POST" and form.is_valid():
        return _answered(web, hire_request, question, subject, form)
    return _page(web, hire_request, question, form)


def _form(web: HttpRequest, request: HireRequest, subject: Subject | None) -> QuestionForm:
    posted = web.POST if web.method == "POST" else None
    if subject is None:
        return QuestionForm([IN_WORDS], Answers(), posted)
    given = given_at(subject, request)
    known = {} if given.unsure else {subject.question.key: given}
    return QuestionForm([subject.question], Answers(known), posted)


def _answered(
    web: HttpRequest,
    request: HireRequest,
    question: CaseQuestion,
    subject: Subject | None,
    form: QuestionForm,
) -> HttpResponse:
    given = form.given()
    answer = given[subject.question.key] if subject else None
    text = "" if subject else str(given[IN_WORDS.key].value)
    try:
        question_answered(question=question, given=answer, text=text, now=timezone.now())
    except QuestionClosed:
        question.refresh_from_db()
        return _page(web, request, question, None)
    except AnswerRefused as refusal:
        words = [Problem("main", w) for said in refusal.problems.values() for w in said]
        return _page(web, request, question, form, problems=words)
    return redirect("intake:asked", reference=request.reference, question_id=question.pk)


def _page(
    web: HttpRequest,
    request: HireRequest,
    question: CaseQuestion,
    form: QuestionForm | None,
    **more: Any,
) -> HttpResponse:
    """The question with its form, or what was answered."""
    problems = more.get("problems") or (form.problems() if form and form.is_bound else [])
    context = {
        "hire_request": request,
        "question": question,
        "rows": form.rows() if form else [],
        "problems": problems,
    }
    return render(web, "intake/asked.html", context, status=422 if problems else 200)
