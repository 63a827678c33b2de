"""The desk's fuel page of an event: rounds asked for, shown and printed."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from intake.desk.access import desk_page
from intake.requests.errors import ServiceRefusal
from quotes.acceptance.views import problems_of
from quotes.documents.typeset import pdf_response
from quotes.emergency.cautions import building_cautions
from quotes.emergency.event.page import event_or_404
from quotes.emergency.fuel.forms import FuelForm
from quotes.emergency.fuel.page import (
    FUEL_CAUTIONS,
    clock_of,
    days_asked,
    fuel_context,
    fuel_facts,
    plan_of,
)
from quotes.emergency.fuel.services import fuel_plan_make
from quotes.emergency.pdf import emergency_pdf
from quotes.emergency.planning.selectors import branches_in_reach
from quotes.models import EmergencyEvent, EventState, FuelPlan, Need


@require_http_methods(["GET", "HEAD", "POST"])
@desk_page("read_desk")
def fuel(web: HttpRequest, code: str) -> HttpResponse:
    """The newest fuel plan of an event; a rep asks for another here."""
    event = event_or_404(code)
    form = _form(web, event)
    refused, status = "", 200
    if web.method == "POST":
        if not web.user.has_perm("intake.work_case"):
            raise PermissionDenied
        refused, status = _made(web, event, form)
        if status == 302:
            return redirect("quotes:emergency_fuel", code=code)
    plan = plan_of(event)
    with clock_of(plan):
        return _shown(web, event, plan, form, refused, status)


def _shown(
    web: HttpRequest,
    event: EmergencyEvent,
    plan: FuelPlan | None,
    form: FuelForm,
    refused: str,
    status: int,
) -> HttpResponse:
    context = {
        **fuel_context(event, plan),
        "form": form,
        "problems": problems_of(form) if form.is_bound else [],
        "refused": refused,
        "may_work": web.user.has_perm("intake.work_case"),
        "open": event.state == EventState.OPEN,
        "cautions": building_cautions(),
        "fuel_cautions": FUEL_CAUTIONS,
    }
    return render(web, "quotes/emergency/fuel/fuel.html", context, status=status)


def _form(web: HttpRequest, event: EmergencyEvent) -> FuelForm:
    branches = branches_in_reach(list(Need.objects.filter(event=event)))
    data = web.POST if web.method == "POST" else None
    return FuelForm(data, branches=branches, days=days_asked(event, timezone.now()))


def _made(web: HttpRequest, event: EmergencyEvent, form: FuelForm) -> tuple[str, int]:
    """What was refused and the status to answer with; 302 where a plan was made."""
    assert isinstance(web.user, User)
    if not form.is_valid():
        return "", 422
    try:
        fuel_plan_make(event_id=event.pk, terms=form.terms(), actor=web.user, now=timezone.now())
    except ServiceRefusal as refusal:
        return str(refusal), refusal.status_code
    return "", 302


@require_safe
@desk_page("read_desk")
def fuel_print(web: HttpRequest, code: str, number: int) -> HttpResponse:
    """A fuel plan as a PDF for the cabs, a page a truck and day."""
    event = event_or_404(code)
    plan = plan_of(event, number)
    if plan is None:
        raise Http404("no such fuel plan")
    content = emergency_pdf("fuel", fuel_facts(event, plan), made_at=plan.made_at)
    return pdf_response(content, f"fuel-{event.code}-{plan.number}")
