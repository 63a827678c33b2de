"""The hint beside the question of the voltage, while it is being answered."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_POST

from intake.models import HireRequest
from intake.requests.selectors import loads_of
from intake.requests.voltage import voltage_hint
from intake.steps.journey import Journey
from intake.views.access import draft_only


def voltage_context(request: HireRequest, journey: Journey) -> dict[str, Any]:
    """What the page of the voltage shows besides its questions."""
    supply, plugs = journey.answers.value("supply"), journey.answers.value("plugs")
    return {"hint": voltage_hint(loads_of(request), supply or "", plugs or [])}


@require_POST
@draft_only
def voltage_hinted(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """The hint for what is chosen at this moment."""
    supply, plugs = web.POST.get("supply", ""), web.POST.getlist("plugs")
    hint = voltage_hint(loads_of(hire_request), supply, plugs)
    return render(web, "intake/voltage_hint.html", {"hint": hint})
