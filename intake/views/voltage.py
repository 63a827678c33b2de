"""The hint beside the question of the voltage, while it is being answered."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.views.decorators.http import require_POST

from intake.models import HireRequest
from intake.requests.selectors import loads_of
from intake.requests.voltage import voltage_hint
from intake.steps.journey import Journey
from intake.views.access import draft_only


def voltage_beside(request: HireRequest, journey: Journey) -> dict[str, str]:
    """What the page of the voltage shows below its questions, by their keys."""
    supply, plugs = journey.answers.value("supply"), journey.answers.value("plugs")
    hint = voltage_hint(loads_of(request), supply or "", plugs or [])
    context = {"hint": hint, "hire_request": request}
    return {"supply": render_to_string("intake/voltage_beside.html", context)}


@require_POST
@draft_only
def voltage_hinted(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """The hint for what is chosen at this moment."""
    supply, plugs = web.POST.get("supply", ""), web.POST.getlist("plugs")
    hint = voltage_hint(loads_of(hire_request), supply, plugs)
    return render(web, "intake/voltage_hint.html", {"hint": hint})
