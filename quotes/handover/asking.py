"""The pages of the triage, the same for whoever stands at the set and for the rep on the phone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import get_language

from intake.requests.errors import ServiceRefusal
from quotes.handover.calls import Caller, service_case_open
from quotes.handover.errors import PathRefused
from quotes.handover.facts import head_facts
from quotes.handover.forms import CallForm
from quotes.handover.job import HandoverJob
from quotes.handover.triage import End, Node, Walk, path_words, walk
from quotes.handover.units import job_of_unit
from quotes.models import OutUnit


def help_page(
    web: HttpRequest, out: OutUnit, *, template: str, context: dict[str, Any]
) -> HttpResponse:
    """One question, or the end with a form that opens the service case."""
    job, language = job_of_unit(out), get_language() or "en"
    try:
        walked = walk(job, str(web.GET.get("path", "")))
    except PathRefused:
        walked = walk(job, "")
    form = CallForm(web.POST) if web.method == "POST" else CallForm()
    sent, status = None, 200
    if isinstance(walked.at, End) and form.is_bound and form.is_valid():
        try:
            sent = _opened(web, out, walked, form)
        except ServiceRefusal as refusal:
            form.add_error("words", str(refusal))
            status = refusal.status_code
    head = {key: value for key, value in head_facts(out).items() if key != "order"}
    facts = {**head, **walk_facts(job, walked, language)}
    filled = {**context, **facts, "form": form, "sent": sent, "out": out, "problems": []}
    return render(web, template, filled, status=status)


def _opened(web: HttpRequest, out: OutUnit, walked: Walk, form: CallForm) -> Any:
    data = form.cleaned_data
    return service_case_open(
        out=out,
        path=walked.path,
        client_key=data["client_key"],
        caller=Caller(data["name"], data["phone"], data["words"]),
        staff=web.user if isinstance(web.user, User) else None,
        now=timezone.now(),
    )


def walk_facts(job: HandoverJob, walked: Walk, language: str) -> dict[str, Any]:
    """What a page shows of a walk: what was said, and the next question or the end."""
    said: Callable[[Any], str] = lambda text: text.said(job.words, language)  # noqa: E731
    facts: dict[str, Any] = {
        "path": walked.path,
        "said": path_words(job, walked.steps, language),
        "back": "~".join(walked.path.split("~")[:-1]) if walked.steps else None,
    }
    if isinstance(walked.at, Node):
        replies = [
            {"text": said(reply.text), "path": _longer(walked, walked.at, reply.key)}
            for reply in walked.at.replies
        ]
        return {**facts, "question": said(walked.at.text), "replies": replies}
    return {**facts, "end": said(walked.at.text), "end_kind": walked.at.kind}


def _longer(walked: Walk, node: Node, reply: str) -> str:
    return "~".join(filter(None, [walked.path, f"{node.key}.{reply}"]))
