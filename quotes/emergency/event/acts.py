"""What staff do to an event: plan, put in force, pin and forbid, clear, move, fail, close."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import wraps
from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from intake.desk.access import desk_page
from intake.requests.errors import ServiceRefusal
from quotes.emergency.event.forms import ChoiceForm, ClearForm, FailForm, PlanForm
from quotes.emergency.event.page import event_or_404
from quotes.emergency.event.services import (
    event_close,
    need_state_set,
    need_take_in,
    unit_back,
    unit_fail,
)
from quotes.emergency.event.views import board_shown, event_shown
from quotes.emergency.planning.choices import choice_end, choice_make, need_clear
from quotes.emergency.planning.errors import PlanOvertaken
from quotes.emergency.planning.force import plan_put_in_force
from quotes.emergency.planning.making import plan_ask
from quotes.models import EmergencyEvent, EmergencyPlan, Need, NeedState, PlanChoice, Unit

Work = Callable[..., None]
View = Callable[..., HttpResponseBase]
DIGITS = 9  # of a version that can be one


def act(permission: str, *, form: type[forms.Form] | None = None) -> Callable[[Work], View]:
    """One press on the event's page: the form read, the work done, the page shown again.

    The work gets the event, who acts, now, what the address names and what the form read. Where
    the form is wrong or the work refused, the page says why and keeps what was typed.
    """

    def decorated(work: Work) -> View:
        @wraps(work)
        def pressed(web: HttpRequest, code: str, **path: Any) -> HttpResponse:
            event, given = event_or_404(code), form(web.POST) if form else None
            typed: dict[str, Any] = {
                "opened": work.__name__,
                "typed_at": next(iter(path.values()), code),
            }
            typed["typed"] = web.POST
            if given is not None and not given.is_valid():
                return event_shown(web, code, status=422, refused=_wrong(given), **typed)
            said = given.cleaned_data if given is not None else {}
            try:
                work(event, actor=web.user, now=timezone.now(), **path, **said)
            except ServiceRefusal as refusal:
                return event_shown(web, code, **_refused(refusal), **typed)
            return redirect("quotes:emergency_event", code=code)

        view: View = require_POST(desk_page(permission)(pressed))
        return view

    return decorated


def _wrong(form: forms.Form) -> str:
    """What is wrong with a form, in its own words."""
    return " ".join(str(message) for errors in form.errors.values() for message in errors)


def _refused(refusal: ServiceRefusal) -> dict[str, Any]:
    changes = refusal.changes if isinstance(refusal, PlanOvertaken) else []
    return {"status": refusal.status_code, "refused": str(refusal), "changes": changes}


def _need(event: EmergencyEvent, need_id: int) -> Need:
    return get_object_or_404(Need, pk=need_id, event=event)


@act("work_case", form=PlanForm)
def plan_again(event: EmergencyEvent, *, reason: str, actor: User, now: datetime) -> None:
    """Ask for a plan."""
    plan_ask(event_id=event.pk, reason=reason, actor=actor, now=now)


@act("second_case")
def in_force(event: EmergencyEvent, *, number: int, actor: User, now: datetime) -> None:
    """Put a plan in force."""
    plan = get_object_or_404(EmergencyPlan, event=event, number=number)
    plan_put_in_force(plan_id=plan.pk, actor=actor, now=now)


@act("work_case", form=ChoiceForm)
def choose(event: EmergencyEvent, *, need_id: int, **said: Any) -> None:
    """Pin a set to a need, or keep it from it."""
    choice_make(need_id=_need(event, need_id).pk, **said)


@act("work_case")
def choice_over(event: EmergencyEvent, *, choice_id: int, actor: User, now: datetime) -> None:
    """Take a pin or a ban back."""
    choice = get_object_or_404(PlanChoice, pk=choice_id, event=event)
    choice_end(choice_id=choice.pk, actor=actor, now=now)


@act("work_case", form=ClearForm)
def clear(event: EmergencyEvent, *, need_id: int, **said: Any) -> None:
    """A person looked at a need that waits for one."""
    need_clear(need_id=_need(event, need_id).pk, **said)


@act("work_case")
def take_in(event: EmergencyEvent, *, need_id: int, actor: User, now: datetime) -> None:
    """Take a need that has no event into this one."""
    if not Need.objects.filter(pk=need_id, event=None).exists():
        raise Http404("no such need")
    need_take_in(event_id=event.pk, need_id=need_id)


@act("work_case", form=FailForm)
def fail(event: EmergencyEvent, *, number: str, **said: Any) -> None:
    """A set fails: out of service, what it served is needed again."""
    unit_fail(number=get_object_or_404(Unit, number=number).number, **said)


@act("work_case")
def back(event: EmergencyEvent, *, number: str, actor: User, now: datetime) -> None:
    """A set is mended."""
    unit = get_object_or_404(Unit, number=number)
    unit_back(number=unit.number, actor=actor, now=now)


@act("second_case")
def close(event: EmergencyEvent, *, actor: User, now: datetime) -> None:
    """Close an event."""
    event_close(event_id=event.pk, actor=actor, now=now)


@require_POST
@desk_page("work_case")
def move(web: HttpRequest, code: str, need_id: int) -> HttpResponse:
    """Say what happened at a need; back to the board."""
    assert isinstance(web.user, User)
    need = _need(event_or_404(code), need_id)
    target, version = web.POST.get("target", ""), web.POST.get("version", "")
    if target not in NeedState.values:
        return board_shown(web, code, status=422, refused="Choose what happened.")
    known = int(version) if version.isdecimal() and len(version) < DIGITS else None
    try:
        need_state_set(
            need_id=need.pk, target=target, version=known, actor=web.user, now=timezone.now()
        )
    except ServiceRefusal as refusal:
        return board_shown(web, code, status=refusal.status_code, refused=f"{need.name}: {refusal}")
    if web.headers.get("HX-Request"):
        return board_shown(web, code)
    return redirect("quotes:emergency_board", code=code)
