"""Accepting and its alternatives, each a page of its own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from intake.models import HireRequest, Status
from intake.requests.errors import MoveRefused, ServiceRefusal
from intake.views.access import holder_of_link
from quotes.acceptance.forms import AcceptForm, ChoicesForm, DeclineForm, WordsForm
from quotes.acceptance.services import (
    Signature,
    quote_accept,
    quote_again,
    quote_change_ask,
    quote_decline,
)
from quotes.bookings.errors import JustTaken
from quotes.documents.facts import page_facts
from quotes.documents.retold import retold
from quotes.models import Quote, QuoteState
from quotes.offers.instead import instead_of
from quotes.offers.selectors import quote_current, quote_shown

View = Callable[..., HttpResponseBase]


@dataclass(frozen=True, slots=True)
class Problem:
    """One line of the error summary."""

    field_id: str
    message: str


def problems_of(form: forms.Form) -> list[Problem]:
    """Every error of a form, in the order of its fields."""
    return [
        Problem(form[name].id_for_label if name in form.fields else "main", str(message))
        for name, messages in form.errors.items()
        for message in messages
    ]


def open_offer_only(view: View) -> View:
    """Give the view the open offer; without one the quote's page says how things stand."""

    @wraps(view)
    def opened(web: HttpRequest, hire_request: HireRequest, **path: Any) -> HttpResponseBase:
        quote = quote_shown(hire_request)
        if quote is None or quote.state != QuoteState.OFFERED:
            return redirect("quotes:offer", reference=hire_request.reference)
        try:
            return view(web, hire_request, quote=quote, **path)
        except MoveRefused:
            return redirect("quotes:offer", reference=hire_request.reference)

    return holder_of_link(opened)


@require_http_methods(["GET", "HEAD", "POST"])
@open_offer_only
def accept(web: HttpRequest, hire_request: HireRequest, quote: Quote) -> HttpResponse:
    """Check once more and accept by name."""
    form = AcceptForm(web.POST) if web.method == "POST" else AcceptForm()
    if form.is_bound and form.is_valid():
        try:
            quote_accept(
                quote_id=quote.pk,
                terms_version=str(web.POST.get("terms_version", "")),
                signature=_signature(web, form),
                now=timezone.now(),
            )
        except JustTaken as refusal:
            return _taken(web, hire_request, quote, refusal)
        except ServiceRefusal as refusal:
            form.add_error("terms", retold(str(refusal)))
        else:
            return redirect("quotes:offer", reference=hire_request.reference)
    return _page(web, "accept", hire_request, form, quote=quote, facts=page_facts(quote))


def _signature(web: HttpRequest, form: AcceptForm) -> Signature:
    data = form.cleaned_data
    return Signature(
        name=data["name"],
        role=data["role"],
        purchase_order=data["purchase_order"],
        address=web.META.get("REMOTE_ADDR") or None,
    )


def _taken(
    web: HttpRequest, hire_request: HireRequest, quote: Quote, refusal: JustTaken
) -> HttpResponse:
    context = {
        "facts": page_facts(quote),
        "hire_request": hire_request,
        "sentence": retold(str(refusal)),
        "instead": instead_of(quote),
    }
    return render(web, "quotes/acceptance/taken.html", context, status=409)


def _page(
    web: HttpRequest, name: str, hire_request: HireRequest, form: forms.Form, **shown: Any
) -> HttpResponse:
    context = {
        **shown,
        "hire_request": hire_request,
        "form": form,
        "problems": problems_of(form) if form.is_bound else [],
    }
    status = 422 if form.is_bound else 200
    return render(web, f"quotes/acceptance/{name}.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@open_offer_only
def decline(web: HttpRequest, hire_request: HireRequest, quote: Quote) -> HttpResponse:
    """Decline, with words or without."""
    form = DeclineForm(web.POST) if web.method == "POST" else DeclineForm()
    if form.is_bound and form.is_valid():
        quote_decline(quote_id=quote.pk, words=form.cleaned_data["words"], now=timezone.now())
        return redirect("quotes:offer", reference=hire_request.reference)
    return _page(web, "decline", hire_request, form)


@require_http_methods(["GET", "HEAD", "POST"])
@open_offer_only
def change(web: HttpRequest, hire_request: HireRequest, quote: Quote) -> HttpResponse:
    """Ask a rep to change something."""
    form = WordsForm(web.POST) if web.method == "POST" else WordsForm()
    if form.is_bound and form.is_valid():
        quote_change_ask(quote_id=quote.pk, words=form.cleaned_data["words"], now=timezone.now())
        return redirect("intake:status", reference=hire_request.reference)
    return _page(web, "change", hire_request, form)


@require_POST
@open_offer_only
def choose(web: HttpRequest, hire_request: HireRequest, quote: Quote) -> HttpResponse:
    """Change the set or a service; a new revision with its own price follows."""
    form = ChoicesForm(web.POST, quote=quote)
    if form.is_valid() and form.has_changed():
        quote_again(
            request=hire_request,
            run_number=quote.run.number,
            choices={**quote.choices, **form.cleaned_data},
            reason=_("You chose differently on the quote's page."),
            now=timezone.now(),
        )
    return redirect("quotes:offer", reference=hire_request.reference)


@require_POST
@holder_of_link
def renew(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """Price the same again: after an offer ran out, or when its set was taken."""
    quote = quote_current(hire_request)
    if quote is not None and hire_request.status in (Status.QUOTED, Status.EXPIRED):
        quote_again(
            request=hire_request,
            run_number=quote.run.number,
            choices=quote.choices,
            reason=_("You asked for a new price."),
            now=timezone.now(),
        )
    return redirect("quotes:offer", reference=hire_request.reference)
