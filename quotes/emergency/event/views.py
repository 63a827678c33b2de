"""The desk's pages of an event: the list, the event, the live board."""

from __future__ import annotations

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
from quotes.emergency.event.board import board_of
from quotes.emergency.event.forms import EventForm
from quotes.emergency.event.page import event_context, event_or_404
from quotes.emergency.event.services import event_open
from quotes.models import OPEN_NEED_STATES, EmergencyEvent, EventState, TransferEquipment
from sizing.cautions import cautions

WORK, SECOND = "intake.work_case", "intake.second_case"
SHOWN = ("carbon_monoxide", "backfeed", "local_codes")
MOST_EVENTS = 100


def with_cautions(web: HttpRequest, context: dict[str, Any]) -> dict[str, Any]:
    """What every page of an event shows: the cautions, and what this person may do."""
    return {
        **context,
        "cautions": [one.text for one in cautions() if one.code in SHOWN],
        "may_work": web.user.has_perm(WORK),
        "may_decide": web.user.has_perm(SECOND),
    }


@require_http_methods(["GET", "HEAD", "POST"])
@desk_page("read_desk")
def event_list(web: HttpRequest) -> HttpResponse:
    """Events, the newest first; a senior rep opens one here."""
    assert isinstance(web.user, User)
    form = EventForm(web.POST) if web.method == "POST" else EventForm()
    if form.is_bound and not web.user.has_perm(SECOND):
        form.add_error(None, "Only a senior rep or a manager opens an event.")
    if form.is_bound and form.is_valid():
        opened = _opened(web.user, form)
        if opened is not None:
            return redirect("quotes:emergency_event", code=opened.code)
    open_ = Count("needs", filter=Q(needs__state__in=OPEN_NEED_STATES))
    context = {
        "events": EmergencyEvent.objects.annotate(open_needs=open_)[:MOST_EVENTS],
        "form": form,
        "problems": problems_of(form) if form.is_bound else [],
    }
    status = 422 if form.is_bound else 200
    return render(
        web, "quotes/emergency/event/list.html", with_cautions(web, context), status=status
    )


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
    event = event_or_404(code)
    context = {
        **event_context(event, timezone.now()),
        "equipment": TransferEquipment.choices,
        "closed": event.state == EventState.CLOSED,
        **more,
    }
    template = "quotes/emergency/event/event.html"
    if web.headers.get("HX-Request") and "part" in web.GET:
        template = "quotes/emergency/event/planning.html"
    return render(web, template, with_cautions(web, context), status=status)


@require_safe
@desk_page("read_desk")
def board(web: HttpRequest, code: str) -> HttpResponse:
    """The live board; htmx asks for its inner part alone."""
    return board_shown(web, code)


def board_shown(
    web: HttpRequest, code: str, *, status: int = 200, refused: str = ""
) -> HttpResponse:
    event = event_or_404(code)
    now = timezone.now()
    context = {"event": event, "board": board_of(event, now), "now": now, "refused": refused}
    part = "board_part.html" if web.headers.get("HX-Request") else "board.html"
    template = f"quotes/emergency/event/{part}"
    return render(web, template, with_cautions(web, context), status=status)
