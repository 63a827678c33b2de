"""The record: who did what, when; of one case or of everything."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.views.decorators.http import require_safe

from intake.desk.access import branches_of, case_of, desk_page
from intake.events.export import COLUMNS, csv_response, event_rows
from intake.events.kinds import KINDS, sentence
from intake.models import Event

PAGE = 100


@desk_page("read_desk")
@require_safe
def case_record(request: HttpRequest, reference: str) -> HttpResponse:
    """Everything that happened to one request."""
    assert isinstance(request.user, User)
    case = case_of(request.user, reference)
    events = case.request.events.order_by("-pk")
    return _page(request, events, case=case)


@desk_page("read_desk")
@require_safe
def case_record_csv(request: HttpRequest, reference: str) -> HttpResponseBase:
    assert isinstance(request.user, User)
    case = case_of(request.user, reference)
    events = case.request.events.select_related("request").order_by("pk").iterator()
    return csv_response(f"record-{reference}.csv", COLUMNS, event_rows(events))


@desk_page("read_figures")
@require_safe
def record(request: HttpRequest) -> HttpResponse:
    """Everything that happened, the latest first."""
    return _page(request, _wanted(request).order_by("-pk"))


@desk_page("read_figures")
@require_safe
def record_csv(request: HttpRequest) -> HttpResponseBase:
    events = _wanted(request).order_by("pk").iterator()
    return csv_response("record.csv", COLUMNS, event_rows(events))


def _wanted(request: HttpRequest) -> QuerySet[Event]:
    """Events of the person's branches, of one kind where the address names one."""
    assert isinstance(request.user, User)
    events = Event.objects.select_related("request")
    branches = branches_of(request.user)
    if branches is not None:
        events = events.filter(Q(request__branch_code__in=[*branches, ""]) | Q(request=None))
    kind = request.GET.get("kind", "")
    return events.filter(kind=kind) if kind in KINDS else events


def _page(request: HttpRequest, events: QuerySet[Event], **more: object) -> HttpResponse:
    before = request.GET.get("before", "")
    if before.isdigit():
        events = events.filter(pk__lt=int(before[:18]))
    rows = list(events[: PAGE + 1])
    context = {
        "lines": [(event, sentence(event)) for event in rows[:PAGE]],
        "next": rows[PAGE - 1].pk if len(rows) > PAGE else None,
        "kinds": sorted(KINDS),
        "kind": request.GET.get("kind", ""),
        **more,
    }
    return render(request, "intake/desk/record.html", context)
