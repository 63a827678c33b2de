"""The case page."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from intake.desk.access import case_of, colleagues, desk_page
from intake.desk.casepage import case_page
from intake.events.kinds import sentence
from intake.models import Case
from intake.requests.errors import ServiceRefusal


@desk_page("read_desk")
def case_detail(request: HttpRequest, reference: str) -> HttpResponse:
    """One case on one page."""
    return render_case(request, case_of(_user(request), reference))


def render_case(
    request: HttpRequest, case: Case, *, refusal: ServiceRefusal | None = None
) -> HttpResponse:
    """The case page; after a refusal with what stands in the way, and with all that was typed."""
    page = case_page(case, _user(request), timezone.now())
    context: dict[str, Any] = {
        "page": page,
        "case": case,
        "reference": page.reference,
        "typed": {},
    }
    context["colleagues"] = colleagues(_user(request), case) if page.mine else []
    if refusal is not None:
        context |= {"refusal": refusal, "since": _since(request, case), "typed": request.POST}
    status = refusal.status_code if refusal else 200
    return render(request, "intake/desk/case.html", context, status=status)


def _since(request: HttpRequest, case: Case) -> list[str]:
    """What others did since the page was read: it says why nothing was saved."""
    seen = request.POST.get("seen", "")
    if not seen.isdigit():
        return []
    events = case.request.events.filter(pk__gt=int(seen[:18])).order_by("pk")
    return [f"{timezone.localtime(event.at):%H:%M}: {sentence(event)}" for event in events[:20]]


def back_to(case: Case, anchor: str = "") -> HttpResponseRedirect:
    """The case page again, after an act."""
    address = reverse("desk:case", args=[case.request.reference])
    return HttpResponseRedirect(f"{address}#{anchor}" if anchor else address)


def _user(request: HttpRequest) -> User:
    assert isinstance(request.user, User)
    return request.user
