"""Parts of the case page that are worked out only when somebody looks."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User
from django.core.cache import cache
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from intake.desk import effects as desk_effects
from intake.desk import recompute as desk_recompute
from intake.desk.access import case_of, desk_page
from intake.desk.services.work import latest_run
from intake.desk.whatif import WhatIf, supposed
from intake.models import Case, CaseFinding, SizingRun
from intake.requests.runs import fleet_for

KEPT_S = 3600  # a run never changes, so what its answers would lead to does not either


def _case_and_run(request: HttpRequest, reference: str) -> tuple[Case, SizingRun]:
    assert isinstance(request.user, User)
    case = case_of(request.user, reference)
    run = latest_run(case.request)
    if run is None:
        raise Http404("not sized yet")
    run.request = case.request
    return case, run


def _part(request: HttpRequest, name: str, context: dict[str, Any]) -> HttpResponse:
    """A part alone for a page that asks for it, else in a page of its own."""
    inner = f"intake/desk/{name}.html"
    if request.headers.get("HX-Request"):
        return render(request, inner, context)
    return render(request, "intake/desk/part.html", {**context, "inner": inner})


@desk_page("read_desk")
@require_safe
def effects(request: HttpRequest, reference: str, finding_id: int) -> HttpResponse:
    """What each answer to a finding's question would lead to."""
    case, run = _case_and_run(request, reference)
    row = get_object_or_404(case.findings, pk=finding_id)
    key = f"desk-effects-{run.pk}-{row.pk}"
    found = cache.get_or_set(key, lambda: _effects_of(row, run), KEPT_S)
    return _part(request, "effects", {"case": case, "effects": found, "finding": row})


def _effects_of(row: CaseFinding, run: SizingRun) -> list[desk_effects.Effect]:
    finding = {"code": row.code, "subject": row.subject, "evidence": row.evidence}
    known = {(f["code"], f["subject"]) for f in run.result["findings"]}
    return desk_effects.effects(finding, run.requirement, fleet_for(run.requirement), known)


@desk_page("read_desk")
@require_safe
def sheet(request: HttpRequest, reference: str) -> HttpResponse:
    """The worked sheet: every line of the calculation with its source."""
    case, run = _case_and_run(request, reference)
    return _part(request, "sheet", {"case": case, "run": run, "trace": run.result["trace"]})


@desk_page("read_desk")
@require_safe
def what_if(request: HttpRequest, reference: str) -> HttpResponse:
    """The stored run beside one with other assumptions; nothing is stored."""
    case, run = _case_and_run(request, reference)
    form = WhatIf(request.GET or None)
    fleet = fleet_for(run.requirement)
    found = None
    if request.GET and form.is_valid():
        found = supposed(run.result, run.requirement, fleet, form.cleaned_data)
    loads = [(index, load["name"]) for index, load in enumerate(run.requirement["loads"])]
    context = {"case": case, "run": run, "form": form, "found": found, "loads": loads,
               "fleet": fleet}  # fmt: skip
    return _part(request, "what_if", context)


@desk_page("read_desk")
@require_safe
def recompute(request: HttpRequest, reference: str) -> HttpResponse:
    """The stored run computed again: the same, or what changed since."""
    case, run = _case_and_run(request, reference)
    found = desk_recompute.recomputed(run)
    return _part(request, "recompute", {"case": case, "run": run, "found": found})
