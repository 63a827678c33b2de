"""Pages of a public body: its sites, one site, and the press that asks for power."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from intake.questions.said import moment_said
from intake.requests.errors import VersionConflict
from quotes.acceptance.views import Problem, problems_of
from quotes.emergency.cautions import building_cautions
from quotes.emergency.clock import need_zone
from quotes.emergency.express.forms import NEED_IN
from quotes.emergency.organisations.access import for_public_body
from quotes.emergency.ranks.selectors import kind_name, kinds_in, rank_among
from quotes.emergency.sites.forms import (
    LoadFormSet,
    SiteForm,
    load_initial,
    load_parts,
    loads_of_forms,
    site_initial,
)
from quotes.emergency.sites.raising import needs_raise
from quotes.emergency.sites.services import (
    SiteInUse,
    site_archive,
    site_review,
    site_save,
    today_of,
)
from quotes.models import OPEN_NEED_STATES, Need, PublicBody, StandingSite

HOURS = tuple((value, label) for value, label in NEED_IN if value.isdigit())


class RaiseForm(forms.Form):
    """By when the ticked sites need power."""

    need_in = forms.ChoiceField(choices=HOURS)


def sites_of(body: PublicBody) -> list[StandingSite]:
    """The body's sites on file."""
    return list(
        StandingSite.objects.filter(organisation=body.organisation, archived_at=None).order_by(
            "priority_number", "key"
        )
    )


def site_of(body: PublicBody, site_id: int) -> StandingSite:
    """One of the body's own sites; another's is not there."""
    return get_object_or_404(
        StandingSite, pk=site_id, organisation=body.organisation, archived_at=None
    )


@require_http_methods(["GET", "HEAD", "POST"])
@for_public_body
def sites(web: HttpRequest, body: PublicBody) -> HttpResponse:
    """The list with its ticks; a press makes needs of the ticked sites."""
    now, problems, raised = timezone.now(), [], []
    ticked = web.POST.getlist("site") if web.method == "POST" else []
    if web.method == "POST":
        form = RaiseForm(web.POST)
        if form.is_valid() and ticked:
            need_by = now + timedelta(hours=int(form.cleaned_data["need_in"]))
            raised = needs_raise(body=body, keys=ticked, need_by=need_by, now=now)
        problems = [] if raised else [Problem("ticks", _("Tick the sites that need power."))]
    context = {
        "body": body,
        "rows": _rows(body, ticked if problems else [], now),
        "raised": raised,
        "called_by": _called_by(raised),
        "hours": HOURS,
        "problems": problems,
        "cautions": building_cautions(),
    }
    page = "quotes/emergency/sites/list.html"
    return render(web, page, context, status=422 if problems else 200)


def _called_by(raised: list[Need]) -> str:
    """By when the night numbers are called, by the clock of the first site; empty where none is."""
    owed = [need for need in raised if need.owes_call]
    last = max((need.call_back_by for need in owed if need.call_back_by), default=None)
    return moment_said(last, need_zone(owed[0])) if last else ""


def _rows(body: PublicBody, ticked: list[str], now: datetime) -> list[dict[str, Any]]:
    found = sites_of(body)
    needs = {
        need.site_id: need
        for need in Need.objects.filter(site__in=found, state__in=OPEN_NEED_STATES)
    }
    kinds = {place: kinds_in(*place) for place in {(one.state, one.county) for one in found}}
    names = {kind.code: kind_name(kind) for kind in kinds_in()}
    return [
        {
            "site": one,
            "kind": names.get(one.facility_kind, one.facility_kind),
            "rank": rank_among(one.facility_kind, kinds[one.state, one.county]).rank,
            "need": needs.get(one.pk),
            "ticked": one.key in ticked,
            "review_due": one.review_due_on <= today_of(now),
            "sets": _sets_said(one),
        }
        for one in found
    ]


def _sets_said(site: StandingSite) -> str:
    """What would be sent, as far as it is known."""
    sets = site.sizing.get("sets") or []
    return ", ".join(f"{one['quantity']} x {one['name']}" for one in sets)


@require_http_methods(["GET", "HEAD", "POST"])
@for_public_body
def site_add(web: HttpRequest, body: PublicBody) -> HttpResponse:
    """Enter one more site."""
    first = {"contact_name": body.contact_name, "night_phone": body.night_phone}
    return _site_form(web, body, None, first)


@require_http_methods(["GET", "HEAD", "POST"])
@for_public_body
def site_page(web: HttpRequest, body: PublicBody, site_id: int) -> HttpResponse:
    """One site with everything on file, to be changed."""
    site = site_of(body, site_id)
    return _site_form(web, body, site, site_initial(site))


def _site_form(
    web: HttpRequest, body: PublicBody, site: StandingSite | None, first: dict[str, Any]
) -> HttpResponse:
    posted = web.POST if web.method == "POST" else None
    form = SiteForm(posted, initial=first)
    loads = LoadFormSet(posted, initial=load_initial(site.loads) if site else None, prefix="load")
    if posted is not None and form.is_valid() and loads.is_valid():
        saved = _saved(web, body, site, form, loads)
        if saved is not None:
            return _after(saved, more="more" in web.POST)
    wrong_loads = _load_problems(loads) if posted is not None else []
    problems = [*problems_of(form), *wrong_loads] if posted is not None else []
    parts = load_parts(loads)
    context = {
        "body": body,
        "site": site,
        "version": web.POST.get("version") or (site.version if site else 0),
        "form": form,
        "loads": loads,
        "load_parts": parts,
        "loads_typed": sum(part.typed for part in parts),
        "loads_open": bool(wrong_loads) or "loads" in web.GET,
        "problems": problems,
        "sets": _sets_said(site) if site else "",
        "options": site.options if site else [],
        "cautions": building_cautions(),
    }
    page = "quotes/emergency/sites/site.html"
    return render(web, page, context, status=422 if problems else 200)


def _after(saved: StandingSite, *, more: bool) -> HttpResponse:
    """Back to the list, or to the site with its loads open and fresh rows among them."""
    if not more:
        return redirect("quotes:sites")
    return redirect(f"{reverse('quotes:site', args=[saved.pk])}?loads=1#loads")


def _saved(
    web: HttpRequest, body: PublicBody, site: StandingSite | None, form: SiteForm, loads: Any
) -> StandingSite | None:
    """Save it; what stands in the way is said at the form and nothing typed is lost."""
    version = web.POST.get("version", "")
    try:
        return site_save(
            organisation=body.organisation,
            fields=form.values(),
            loads=loads_of_forms(loads),
            now=timezone.now(),
            site=site,
            version=int(version) if version.isdigit() else 0,
        )
    except VersionConflict:
        form.add_error(None, _("Somebody changed this site meanwhile. Open it again beside this."))
        return None
    except ValidationError as error:
        for name, messages in error.message_dict.items():
            known = name if name in form.fields else "key" if "__all__" in name else None
            form.add_error(known, [str(one) for one in messages])
        return None


def _load_problems(loads: Any) -> list[Problem]:
    return [problem for row in loads for problem in problems_of(row)]


@require_POST
@for_public_body
def site_reviewed(web: HttpRequest, body: PublicBody, site_id: int) -> HttpResponse:
    """One press: looked through, unchanged."""
    site_review(site=site_of(body, site_id), now=timezone.now())
    return redirect("quotes:sites")


@require_POST
@for_public_body
def site_archived(web: HttpRequest, body: PublicBody, site_id: int) -> HttpResponse:
    """Take a site off the list, unless power is on its way to it."""
    try:
        site_archive(site=site_of(body, site_id), now=timezone.now())
    except SiteInUse as refusal:
        raise Http404 from refusal
    return redirect("quotes:sites")
