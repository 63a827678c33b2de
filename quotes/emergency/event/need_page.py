"""One need on a page of its own: whom to call, what is promised, what the set connects to."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from intake.desk.access import desk_page
from intake.requests.errors import ServiceRefusal
from quotes.documents.typeset import pdf_response
from quotes.emergency.clock import need_zone, zone_words
from quotes.emergency.event.lines import codes_of, moves_of, shares_of
from quotes.emergency.event.views import with_cautions
from quotes.emergency.hookup import hook_up
from quotes.emergency.paging.calls import call_back_record, with_same_phone
from quotes.emergency.paging.words import call_late, call_words
from quotes.emergency.papers.page import site_facts
from quotes.emergency.pdf import emergency_pdf
from quotes.emergency.planning.selectors import deliveries_of, plan_in_force
from quotes.models import OPEN_NEED_STATES, Need, NeedState


class CallForm(forms.Form):
    """What came of a call; one press is enough."""

    note = forms.CharField(
        label="What was said (optional)",
        required=False,
        max_length=300,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={"max_length": "Keep the note to 300 characters."},
    )
    with_others = forms.BooleanField(required=False)


def need_or_404(need_id: int) -> Need:
    found = Need.objects.select_related(
        "event", "site__organisation", "request__organisation", "called_back_by",
        "person_cleared_by",
    )  # fmt: skip
    return get_object_or_404(found, pk=need_id)


@require_safe
@desk_page("read_desk")
def need_page(web: HttpRequest, need_id: int) -> HttpResponse:
    """Everything about one need, as whoever is woken by a call wants it."""
    return _shown(web, need_or_404(need_id))


def _shown(
    web: HttpRequest,
    need: Need,
    *,
    form: CallForm | None = None,
    refused: str = "",
    status: int = 200,
) -> HttpResponse:
    now, zone = timezone.now(), need_zone(need)
    delivered = shares_of(deliveries_of(plan_in_force(need.event) if need.event else None))
    with timezone.override(zone):
        context = {
            "need": need,
            "form": form or CallForm(),
            "refused": refused,
            "call": call_words(need, now),
            "late": call_late(need, now),
            "others": with_same_phone(need) if need.owes_call else (),
            "hook_up": hook_up(need),
            "has": delivered.get(need.pk) if need.state in OPEN_NEED_STATES else None,
            "codes": codes_of(need.options),
            "moves": moves_of(NeedState(need.state), has_set=need.pk in delivered),
            "reasons": need.person_reason.splitlines(),
            "pages": need.pages.order_by("created_at", "pk"),
            "open": need.state in OPEN_NEED_STATES,
            "overdue": need.state in OPEN_NEED_STATES and need.need_by < now,
            "zone": zone_words(zone, now),
        }
        page = "quotes/emergency/event/need.html"
        return render(web, page, with_cautions(web, context), status=status)


@require_POST
@desk_page("work_case")
def called(web: HttpRequest, need_id: int) -> HttpResponse:
    """Record that the promised call was made."""
    assert isinstance(web.user, User)
    need, form = need_or_404(need_id), CallForm(web.POST)
    if not form.is_valid():
        said = " ".join(str(one) for errors in form.errors.values() for one in errors)
        return _shown(web, need, form=form, refused=said, status=422)
    said_: dict[str, Any] = form.cleaned_data
    try:
        call_back_record(need_id=need.pk, actor=web.user, now=timezone.now(), **said_)
    except ServiceRefusal as refusal:
        return _shown(web, need, form=form, refused=str(refusal), status=refusal.status_code)
    return redirect("quotes:emergency_need", need_id=need.pk)


@require_safe
@desk_page("read_desk")
def need_pdf(web: HttpRequest, need_id: int) -> HttpResponse:
    """The site's paper for the cab: what was asked, the hook-up, the set that goes there."""
    need = need_or_404(need_id)
    content = emergency_pdf("record", site_facts(need), made_at=timezone.now())
    return pdf_response(content, f"site-{need.key}")
