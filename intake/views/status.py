"""Where a request stands: what happens next and by when, for as long as the link works."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from intake.models import Case, HireRequest, Status
from intake.prepared import A_KEY, Prepared
from intake.questions.finding_words import finding_words
from intake.questions.said import moment_said
from intake.requests.selectors import LAST_FINDINGS, given_read_once, journey_of, site_zone
from intake.views.access import holder_of_link
from intake.views.start import entry_address
from intake.views.summary import summary

CASES = Prepared(
    lambda request: Case.objects.filter(request=request).values_list(
        "promised_at", "customer_words"
    ),
    A_KEY,
)
SHOWN_BY_QUOTES = (Status.PRICING, Status.QUOTED, Status.ORDERED, Status.EXPIRED)


@require_safe
@holder_of_link
def status(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """A draft goes on where it stopped; a priced request shows its quote; the rest is said here."""
    if hire_request.status == Status.DRAFT:
        return redirect(entry_address(hire_request))
    if hire_request.status in SHOWN_BY_QUOTES:
        return redirect("quotes:offer", reference=hire_request.reference)
    return render(web, "intake/status.html", status_context(hire_request))


def status_context(request: HireRequest) -> dict[str, Any]:
    """What the page says, with times in the zone of the site."""
    promised_at, customer_words = CASES.first(request.pk) or (None, "")
    given_read_once(request)
    journey = journey_of(request, now=timezone.now())
    return {
        "hire_request": request,
        "in_review": request.status == Status.IN_REVIEW,
        "customer_words": customer_words,
        "by": moment_said(promised_at, site_zone(journey.answers)) if promised_at else "",
        "points": open_points(request),
        **summary(request, journey),
        "email": journey.answers.value("email"),
        "phone": journey.answers.value("phone"),
    }


def open_points(request: HireRequest) -> list[str]:
    """What brought the request to a person, in the customer's words, each said once."""
    (findings,) = LAST_FINDINGS.first(request.pk) or ([],)
    words = [
        finding_words(finding["code"], finding["detail"])
        for finding in findings or []
        if finding["severity"] == "needs_person"
    ]
    return list(dict.fromkeys(words))
