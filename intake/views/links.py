"""Addresses of a request's pages, and what every page of the intake shows around its questions."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.utils.translation import gettext as _

from intake.addresses import address
from intake.models import HireRequest
from intake.requests.selectors import load_complete, loads_of
from intake.steps.catalogue import CHECK, EQUIPMENT
from intake.steps.journey import Journey
from intake.steps.step import Step

RETURN = "return"
TO_CHECK = "check"


def step_address(request: HireRequest, step: Step | None) -> str:
    """The page of a step; the page that says where the request stands for ``None``."""
    if step is None:
        return address("intake:status", request.reference)
    if step is CHECK or step is EQUIPMENT:
        return address(f"intake:{step.key}", request.reference)
    return address("intake:step", request.reference, named=step.key)


def equipment_entry(request: HireRequest) -> str:
    """The first row that is still empty, else the list."""
    for load in loads_of(request):
        if not load_complete(load):
            return address("intake:load", request.reference, load.pk)
    return step_address(request, EQUIPMENT)


def next_address(web: HttpRequest, request: HireRequest, journey: Journey, step: Step) -> str:
    """After a step: the next one; after a change from the check page, what the change opened."""
    if step is EQUIPMENT and journey.ready:
        return step_address(request, CHECK)  # a row was added from the check page
    if web.GET.get(RETURN) != TO_CHECK:
        return step_address(request, journey.following(step))
    following = journey.first_open()
    if following is EQUIPMENT:
        return equipment_entry(request)
    where = step_address(request, following)
    return where if following is CHECK else f"{where}?{RETURN}={TO_CHECK}"


def frame(web: HttpRequest, request: HireRequest, journey: Journey, step: Step) -> dict[str, Any]:
    """Progress and way back of a step's page."""
    place, of = journey.place(step)
    before = journey.before(step)
    back = step_address(request, before) if before else ""
    if web.GET.get(RETURN) == TO_CHECK:
        back = step_address(request, CHECK)
    return {
        "hire_request": request,
        "title": str(step.title),
        "progress": _("Step %(place)s of %(of)s") % {"place": place, "of": of},
        "back": back,
    }
