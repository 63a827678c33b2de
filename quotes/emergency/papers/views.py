"""The desk's papers of an event: records per site, kept, shown, downloaded and printed."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from intake.desk.access import desk_page
from intake.events.export import csv_response
from intake.requests.errors import ServiceRefusal
from quotes.acceptance.views import problems_of
from quotes.documents.typeset import pdf_response
from quotes.emergency.cautions import building_cautions
from quotes.emergency.clock import need_zone
from quotes.emergency.event.page import event_or_404
from quotes.emergency.papers.forms import RecordForm
from quotes.emergency.papers.page import (
    COLUMNS,
    NO_TAX,
    SetPaper,
    csv_rows,
    record_facts,
    set_papers,
)
from quotes.emergency.papers.services import record_keep
from quotes.emergency.pdf import emergency_pdf
from quotes.models import EmergencyEvent, Need, SiteRecord
from quotes.pricing.money import total
from quotes.rates.errors import NoRateCard


@require_safe
@desk_page("read_desk")
def papers(web: HttpRequest, code: str) -> HttpResponse:
    """Every set of an event with its records; a rep enters what was used."""
    return _shown(web, event_or_404(code))


def _shown(
    web: HttpRequest,
    event: EmergencyEvent,
    *,
    form: RecordForm | None = None,
    typed: tuple[int, str] | None = None,
    refused: str = "",
    status: int = 200,
) -> HttpResponse:
    found = set_papers(event, timezone.now())
    context = {
        "event": event,
        "papers": [(one, _form(one, form, typed), _is(one, typed)) for one in found],
        "problems": problems_of(form) if form is not None else [],
        "refused": refused,
        "total": total(one.total for one in found),
        "any": any(one.records for one in found),
        "no_tax": NO_TAX,
        "may_work": web.user.has_perm("intake.work_case"),
        "cautions": building_cautions(),
    }
    return render(web, "quotes/emergency/papers/papers.html", context, status=status)


def _is(one: SetPaper, typed: tuple[int, str] | None) -> bool:
    return (one.need.pk, one.unit_number) == typed


def _form(one: SetPaper, form: RecordForm | None, typed: tuple[int, str] | None) -> RecordForm:
    """The form as it was typed at its own set; else an empty one with ids of its own."""
    if form is not None and _is(one, typed):
        return form
    return RecordForm(auto_id=f"id_{one.need.pk}_{one.unit_number}_%s")


@require_POST
@desk_page("work_case")
def record(web: HttpRequest, code: str, need_id: int, number: str) -> HttpResponse:
    """Keep a record of one set at one site."""
    assert isinstance(web.user, User)
    event = event_or_404(code)
    need = get_object_or_404(Need.objects.select_related("site"), pk=need_id, event=event)
    with timezone.override(need_zone(need)):  # what is typed is the clock of the site
        form = RecordForm(web.POST, auto_id=f"id_{need.pk}_{number}_%s")
        form.full_clean()
    typed = (need.pk, number)
    if not form.is_valid():
        return _shown(web, event, form=form, typed=typed, status=422)
    try:
        record_keep(
            need_id=need.pk, unit_number=number, readings=form.readings(), actor=web.user,
            now=timezone.now(),
        )  # fmt: skip
    except (ServiceRefusal, NoRateCard) as refusal:
        return _shown(web, event, form=form, typed=typed, refused=str(refusal), status=409)
    return redirect("quotes:emergency_papers", code=code)


@require_safe
@desk_page("read_desk")
def papers_csv(web: HttpRequest, code: str) -> HttpResponseBase:
    """All lines of all records of an event."""
    event = event_or_404(code)
    return csv_response(f"costs-{event.code}.csv", COLUMNS, csv_rows(event))


@require_safe
@desk_page("read_desk")
def record_pdf(web: HttpRequest, code: str, record_id: int) -> HttpResponse:
    """One record as a PDF."""
    event = event_or_404(code)
    found = get_object_or_404(SiteRecord, pk=record_id, need__event=event)
    content = emergency_pdf("record", record_facts(event, found), made_at=found.made_at)
    return pdf_response(content, f"record-{event.code}-{found.pk}")
