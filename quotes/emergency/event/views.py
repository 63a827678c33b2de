"""The desk's pages of an event: the list, the event, the live board."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from intake.desk.access import desk_page
from quotes.acceptance.views import problems_of
from quotes.emergency.cautions import building_cautions
from quotes.emergency.clock import event_zone, jurisdiction_zone, need_zone, zone_words
from quotes.emergency.event.board import board_of
from quotes.emergency.event.forms import EventForm
from quotes.emergency.event.page import event_context, event_or_404, planning_context
from quotes.emergency.event.services import event_open
from quotes.emergency.paging.calls import calls_owed
from quotes.emergency.paging.words import call_late, call_words
from quotes.models import OPEN_NEED_STATES, EmergencyEvent, EventState, TransferEquipment

WORK, SECOND = "intake.work_case", "intake.second_case"
MOST_EVENTS, MOST_CALLS = 100, 50


def with_cautions(web: HttpRequest, context: dict[str, Any]) -> dict[str, Any]:
    """What every page of an event shows: the cautions, and what this person may do."""
    return {
        **context,
        "cautions": building_cautions(),
        "may_work": web.user.has_perm(WORK),
        "may_decide": web.user.has_perm(SECOND),
    }


@require_http_methods(["GET", "HEAD", "POST"])
@desk_page("read_desk")
def event_list(web: HttpRequest) -> HttpResponse:
    """Events, the newest first; a senior rep opens one here."""
    assert isinstance(web.user, User)
    with timezone.override(jurisdiction_zone(web.POST.get("jurisdiction", ""))):
        form = EventForm(web.POST) if web.method == "POST" else EventForm()
        form.full_clean()  # what is typed counts by the clock of the place
    if form.is_bound and not web.user.has_perm(SECOND):
        form.add_error(None, "Only a senior rep or a manager opens an event.")
    if form.is_bound and form.is_valid():
        opened = _opened(web.user, form)
        if opened is not None:
            return redirect("quotes:emergency_event", code=opened.code)
    open_ = Count("needs", filter=Q(needs__state__in=OPEN_NEED_STATES))
    events = EmergencyEvent.objects.annotate(open_needs=open_)[:MOST_EVENTS]
    context = {
        "events": [_with_zone(event) for event in events],
        "calls": _calls(timezone.now()),
        "form": form,
        "problems": problems_of(form) if form.is_bound else [],
    }
    status = 422 if form.is_bound else 200
    return render(
        web, "quotes/emergency/event/list.html", with_cautions(web, context), status=status
    )


def _with_zone(event: EmergencyEvent) -> dict[str, Any]:
    return {"event": event, "zone": event_zone(event)}


def _calls(now: datetime) -> list[dict[str, Any]]:
    """Call backs that are owed, of every event and of none, each by the clock of its place."""
    found = []
    for need in calls_owed().select_related("site")[:MOST_CALLS]:
        with timezone.override(need_zone(need)):
            said = call_words(need, now)
        found.append({"need": need, "words": said, "late": call_late(need, now)})
    return found


def _opened(user: User, form: EventForm) -> EmergencyEvent | None:
    try:
        return event_open(actor=user, now=timezone.now(), **form.cleaned_data)
    except ValidationError as error:
        for name, messages in error.message_dict.items():
            form.add_error(name if name in form.fields else None, messages)
        return None


@require_safe
@desk_page("read_desk")
def event_page(web: HttpRequest, code: str) -> HttpResponse:
    """One event: needs, plan beside the plan in force, what is unmet and why."""
    return event_shown(web, code)


def event_shown(web: HttpRequest, code: str, *, status: int = 200, **more: Any) -> HttpResponse:
    """The event's page, with what was refused and typed where something was."""
    event, now = event_or_404(code), timezone.now()
    zone = event_zone(event)
    if web.headers.get("HX-Request") and "part" in web.GET:
        with timezone.override(zone):
            return render(web, "quotes/emergency/event/planning.html", planning_context(event))
    with timezone.override(zone):
        context = {
            **event_context(event, now),
            "equipment": TransferEquipment.choices,
            "closed": event.state == EventState.CLOSED,
            "zone": zone_words(zone, now),
            **more,
        }
        template = "quotes/emergency/event/event.html"
        return render(web, template, with_cautions(web, context), status=status)


@require_safe
@desk_page("read_desk")
def board(web: HttpRequest, code: str) -> HttpResponse:
    """The live board; htmx asks for its inner part alone."""
    return board_shown(web, code)


def board_shown(
    web: HttpRequest, code: str, *, status: int = 200, refused: str = ""
) -> HttpResponse:
    event, now = event_or_404(code), timezone.now()
    zone = event_zone(event)
    part = "board_part.html" if web.headers.get("HX-Request") else "board.html"
    with timezone.override(zone):
        context = {
            "event": event,
            "board": board_of(event, now),
            "now": now,
            "refused": refused,
            "zone": zone_words(zone, now),
        }
        template = f"quotes/emergency/event/{part}"
        return render(web, template, with_cautions(web, context), status=status)
