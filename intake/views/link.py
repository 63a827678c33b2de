"""Save and come back: the link to copy, and the link by mail."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from intake.models import HireRequest
from intake.questions.contact import EMAIL
from intake.questions.form import QuestionForm
from intake.requests.links import link_token
from intake.requests.mailing import link_mail
from intake.requests.selectors import answers_of
from intake.views.access import holder_of_link


@require_http_methods(["GET", "HEAD", "POST"])
@holder_of_link
def link(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """Show the link, and send it to the address that the customer gives."""
    form = QuestionForm((EMAIL,), answers_of(hire_request), web.POST or None)
    sent_to, problems = "", []
    if web.method == "POST":
        if form.is_valid():
            sent_to = form.given()[EMAIL.key].value
            link_mail(request=hire_request, address=sent_to, now=timezone.now())
        else:
            problems = form.problems()
    context = {
        "hire_request": hire_request,
        "rows": form.rows(),
        "problems": problems,
        "sent_to": sent_to,
        "address": link_address(hire_request),
    }
    return render(web, "intake/link.html", context, status=422 if problems else 200)


def link_address(request: HireRequest) -> str:
    """The link that opens the request on any device."""
    token = link_token(request.reference, request.link_generation)
    return f"{settings.SETWRIGHT_SITE_URL}{reverse('intake:enter', args=[token])}"
