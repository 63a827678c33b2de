"""What staff do to an event: plan, put in force, pin and forbid, clear, move, fail, close."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.http import Http404, HttpRequest, HttpResponse
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

Act = Callable[[], object]
DIGITS = 9  # of a version that can be one


def _done(web: HttpRequest, code: str, act: Act, **typed: Any) -> HttpResponse:
    """Do it and show the event again; refused, show it with the reason and what was typed."""
    try:
        act()
    except ServiceRefusal as refusal:
        changes = refusal.changes if isinstance(refusal, PlanOvertaken) else []
        return event_shown(
            web, code, status=refusal.status_code, refused=str(refusal), changes=changes, **typed
        )
    return redirect("quotes:emergency_event", code=code)


def _wrong(web: HttpRequest, code: str, form: forms.Form, **typed: Any) -> HttpResponse:
    """The event's page with what is wrong with a form, in its own words."""
    said = " ".join(str(message) for errors in form.errors.values() for message in errors)
    return event_shown(web, code, status=422, refused=said, **typed)


def _need(code: str, need_id: int) -> Need:
    return get_object_or_404(Need.objects.select_related("event"), pk=need_id, event__code=code)


@require_POST
@desk_page("work_case")
def plan_again(web: HttpRequest, code: str) -> HttpResponse:
    """Ask for a plan."""
    assert isinstance(web.user, User)
    user, event = web.user, event_or_404(code)
    form = PlanForm(web.POST)
    if not form.is_valid():
        return _wrong(web, code, form, reason=web.POST.get("reason", ""))
    reason = form.cleaned_data["reason"]
    return _done(
        web,
        code,
        lambda: plan_ask(event_id=event.pk, reason=reason, actor=user, now=timezone.now()),
        reason=reason,
    )


@require_POST
@desk_page("second_case")
def in_force(web: HttpRequest, code: str, number: int) -> HttpResponse:
    """Put a plan in force."""
    assert isinstance(web.user, User)
    user = web.user
    plan = get_object_or_404(EmergencyPlan, event__code=code, number=number)
    return _done(
        web,
        code,
        lambda: plan_put_in_force(plan_id=plan.pk, actor=user, now=timezone.now()),
    )


@require_POST
@desk_page("work_case")
def choose(web: HttpRequest, code: str, need_id: int) -> HttpResponse:
    """Pin a set to a need, or keep it from it."""
    assert isinstance(web.user, User)
    user, need = web.user, _need(code, need_id)
    form = ChoiceForm(web.POST)
    typed = {"typed_need": need.pk, "typed": web.POST, "opened": "choose"}
    if not form.is_valid():
        return _wrong(web, code, form, **typed)
    return _done(
        web,
        code,
        lambda: choice_make(need_id=need.pk, actor=user, now=timezone.now(), **form.cleaned_data),
        **typed,
    )


@require_POST
@desk_page("work_case")
def choice_over(web: HttpRequest, code: str, choice_id: int) -> HttpResponse:
    """Take a pin or a ban back."""
    assert isinstance(web.user, User)
    user = web.user
    choice = get_object_or_404(PlanChoice, pk=choice_id, event__code=code)
    return _done(web, code, lambda: choice_end(choice_id=choice.pk, actor=user, now=timezone.now()))


@require_POST
@desk_page("work_case")
def clear(web: HttpRequest, code: str, need_id: int) -> HttpResponse:
    """A person looked at a need that waits for one."""
    assert isinstance(web.user, User)
    user, need = web.user, _need(code, need_id)
    form = ClearForm(web.POST)
    typed = {"typed_need": need.pk, "typed": web.POST, "opened": "clear"}
    if not form.is_valid():
        return _wrong(web, code, form, **typed)
    return _done(
        web,
        code,
        lambda: need_clear(need_id=need.pk, actor=user, now=timezone.now(), **form.cleaned_data),
        **typed,
    )


@require_POST
@desk_page("work_case")
def take_in(web: HttpRequest, code: str, need_id: int) -> HttpResponse:
    """Take a need that has no event into this one."""
    event = event_or_404(code)
    if not Need.objects.filter(pk=need_id, event=None).exists():
        raise Http404("no such need")
    return _done(web, code, lambda: need_take_in(event_id=event.pk, need_id=need_id))


@require_POST
@desk_page("work_case")
def move(web: HttpRequest, code: str, need_id: int) -> HttpResponse:
    """Say what happened at a need; back to the board."""
    assert isinstance(web.user, User)
    need = _need(code, need_id)
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


def _unit(code: str, number: str) -> tuple[EmergencyEvent, Unit]:
    return event_or_404(code), get_object_or_404(Unit, number=number)


@require_POST
@desk_page("work_case")
def fail(web: HttpRequest, code: str, number: str) -> HttpResponse:
    """A set fails: out of service, what it served is needed again."""
    assert isinstance(web.user, User)
    user, (_event, unit) = web.user, _unit(code, number)
    form = FailForm(web.POST)
    typed = {"typed_unit": unit.number}
    if not form.is_valid():
        return _wrong(web, code, form, **typed)
    reason = form.cleaned_data["reason"]
    return _done(
        web,
        code,
        lambda: unit_fail(number=unit.number, reason=reason, actor=user, now=timezone.now()),
        **typed,
    )


@require_POST
@desk_page("work_case")
def back(web: HttpRequest, code: str, number: str) -> HttpResponse:
    """A set is mended."""
    assert isinstance(web.user, User)
    user, (_event, unit) = web.user, _unit(code, number)
    return _done(web, code, lambda: unit_back(number=unit.number, actor=user, now=timezone.now()))


@require_POST
@desk_page("second_case")
def close(web: HttpRequest, code: str) -> HttpResponse:
    """Close an event."""
    assert isinstance(web.user, User)
    user, event = web.user, event_or_404(code)
    return _done(web, code, lambda: event_close(event_id=event.pk, actor=user, now=timezone.now()))
