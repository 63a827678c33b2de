"""The express request: one page, then the number and the promised call back."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import get_language
from django.views.decorators.http import require_http_methods, require_safe

from intake.models import HireRequest
from intake.questions.said import moment_said
from intake.requests.selectors import answers_of, site_zone
from intake.views.access import holder_of_link, kept_private
from intake.views.link import link_address
from intake.views.start import with_key
from quotes.acceptance.views import problems_of
from quotes.emergency.cautions import building_cautions
from quotes.emergency.express.details import DetailsForm, details_keep
from quotes.emergency.express.forms import ExpressForm
from quotes.emergency.express.services import express_accept
from quotes.emergency.needs import LIFE_SAFETY, NO_TRANSFER, TRANSFER_UNSURE, need_of_request
from quotes.emergency.organisations.access import body_of
from quotes.emergency.words import said_words
from quotes.models import Need, PublicBody


@require_http_methods(["GET", "HEAD", "POST"])
def express(web: HttpRequest) -> HttpResponse:
    """Ask the least, and take the request at once."""
    now, body = timezone.now(), body_of(web)
    posted = web.POST if web.method == "POST" else None
    form = ExpressForm(posted, now=now, initial=_known(body))
    if form.is_bound and form.is_valid():
        request, token = express_accept(
            asked=form.asked(language=get_language() or "en"),
            organisation=body.organisation if body else None,
            form_key=form.cleaned_data["form_key"],
            now=now,
        )
        return with_key(web, redirect("quotes:express_taken", request.reference), request, token)
    context = {
        "form": form,
        "body": body,
        "problems": problems_of(form) if form.is_bound else [],
        "cautions": building_cautions(),
    }
    status = 422 if form.is_bound else 200
    page = render(web, "quotes/emergency/express/express.html", context, status=status)
    return kept_private(page)


def _known(body: PublicBody | None) -> dict[str, Any]:
    """What is on file of a public body that is signed in."""
    if body is None:
        return {}
    return {
        "company": body.organisation.name,
        "contact_name": body.contact_name,
        "phone": body.night_phone,
        "email": body.contact_email,
    }


@require_safe
@holder_of_link
def taken(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """The number, the call back, and what to do meanwhile."""
    need = need_of_request(hire_request)
    if need is None:
        return redirect("intake:status", reference=hire_request.reference)
    context = {"hire_request": hire_request, "need": need, **_said(hire_request, need)}
    return render(web, "quotes/emergency/express/taken.html", context)


def _said(hire_request: HireRequest, need: Need) -> dict[str, Any]:
    zone = site_zone(answers_of(hire_request))
    plain = (LIFE_SAFETY, NO_TRANSFER, TRANSFER_UNSURE)
    reasons = [reason for reason in plain if reason in need.person_reason]
    late = need.owes_call and need.call_back_by is not None and need.call_back_by <= timezone.now()
    return {
        "late": late,
        "call_back": moment_said(need.call_back_by, zone) if need.call_back_by else "",
        "need_by": moment_said(need.need_by, zone),
        "reasons": [said_words(reason) for reason in reasons],
        "address": link_address(hire_request),
        "cautions": building_cautions(),
    }


@require_http_methods(["GET", "HEAD", "POST"])
@holder_of_link
def details(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """The rest, whenever there is time for it: what the set is connected to."""
    need = need_of_request(hire_request)
    if need is None:
        return redirect("intake:status", reference=hire_request.reference)
    posted = web.POST if web.method == "POST" else None
    form = DetailsForm(posted, initial=need.connection_data)
    if form.is_bound and form.is_valid():
        details_keep(need_id=need.pk, given=form.given(), now=timezone.now())
        return redirect("quotes:express_taken", hire_request.reference)
    problems = problems_of(form) if form.is_bound else []
    context = {
        "hire_request": hire_request,
        "need": need,
        "form": form,
        "problems": problems,
        "cautions": building_cautions(),
    }
    status = 422 if problems else 200
    return render(web, "quotes/emergency/express/details.html", context, status=status)
