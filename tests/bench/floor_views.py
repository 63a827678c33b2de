"""Bare Django views that do what ours must and nothing more: the same queries, as large a page.

They are written as one would write them in an afternoon: a form of text fields, Django's own
rendering of it, rows put into JSON by hand. ``floors.py`` refuses to measure where one of them
makes another number of queries, or gives another document, than what stands beside it.
"""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, datetime
from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.template import RequestContext, Template
from django.urls import include, path
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt

from intake.models import Answer, ApiKey, Case, Event, HireRequest
from intake.requests.links import COOKIE
from intake.requests.runs import fleet_for
from quotes.models import HireCompany
from sizing import read_requirement, recommend

ROWS = 50
PAGE = Template(
    """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{{ title }}</title></head>
<body><h1>{{ title }}</h1><form method="post">{% csrf_token %}{{ form.as_div }}
<button>Continue</button></form><footer>{{ company.name }} {{ company.phone }}</footer>
<!-- {{ filling }} --></body></html>"""
)


def digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def held(web: HttpRequest) -> HireRequest:
    return HireRequest.objects.get(token_hash=digest(web.COOKIES[COOKIE]))


def step_form(keys: list[str], answers: dict[str, Any], data: Any = None) -> forms.Form:
    form = forms.Form(data, initial=answers)
    for key in keys:
        form.fields[key] = forms.CharField(required=False, max_length=200)
    return form


def step(web: HttpRequest, keys: str, size: int) -> HttpResponse:
    """A page of questions shown, or its answers saved."""
    request = held(web)
    answers = {row.key: row.value for row in request.answers.all()}
    list(request.loads.all())
    form = step_form(keys.split(","), answers, web.POST if web.method == "POST" else None)
    if web.method == "POST":
        return step_saved(request, form)
    context = {"title": "The site", "form": form, "company": HireCompany.objects.first()}
    short = PAGE.render(RequestContext(web, {**context, "filling": ""}))
    filling = "x" * max(0, size - len(short.encode()))
    return HttpResponse(short.replace("<!--  -->", f"<!-- {filling} -->"))


def step_saved(request: HireRequest, form: forms.Form) -> HttpResponse:
    """The queries of saving one changed answer."""
    assert form.is_valid()
    now = timezone.now()
    with transaction.atomic():
        HireRequest.objects.filter(pk=request.pk).update(version=F("version") + 1, updated_at=now)
        before = {row.key: row.value for row in request.answers.all()}
        list(request.loads.all())
        for key, value in form.cleaned_data.items():
            if value != (before.get(key) or ""):
                Answer.objects.filter(request=request, key=key).update(value=value, updated_at=now)
                Event.objects.create(
                    at=now, kind="answer_saved", actor_label="customer", request=request,
                    subject=key, data={"value": value},
                )  # fmt: skip
    return HttpResponseRedirect("/floor/nothing")


# --- the API's lists ----------------------------------------------------------------------
def key_of(web: HttpRequest) -> ApiKey:
    text = web.headers["Authorization"].split()[1]
    return ApiKey.objects.get(
        secret_hash=digest(text), revoked_at=None, expires_at__gt=timezone.now()
    )


def in_utc(at: datetime | None) -> str | None:
    return at.astimezone(UTC).isoformat().replace("+00:00", "Z") if at else None


def request_rows(web: HttpRequest) -> HttpResponse:
    rows = list(
        HireRequest.objects.filter(api_request__client=key_of(web).client)
        .order_by("-pk")
        .values_list("pk", "reference", "status", "created_at", "submitted_at", named=True)[
            : ROWS + 1
        ]
    )
    items = [
        {
            "reference": row.reference,
            "status": row.status,
            "created_at": in_utc(row.created_at),
            "submitted_at": in_utc(row.submitted_at),
        }
        for row in rows[:ROWS]
    ]
    return JsonResponse({"items": items, "next_cursor": cursor(rows)})


def case_rows(web: HttpRequest) -> HttpResponse:
    person = key_of(web).client.acts_as
    assert isinstance(person, User)
    assert person.has_perms(["intake.read_desk"])
    assert person.staff_profile.all_branches
    rows = list(
        Case.objects.order_by("-pk").values_list(
            *("pk", "request__reference", "state", "urgent", "reason", "headline"),
            *("owner__first_name", "owner__last_name", "branch_code", "opened_at", "promised_at"),
            named=True,
        )[: ROWS + 1]
    )
    items = [
        {
            "reference": row.request__reference,
            "state": row.state,
            "urgent": row.urgent,
            "reason": row.reason,
            "headline": row.headline,
            "owner": f"{row.owner__first_name or ''} {row.owner__last_name or ''}".strip(),
            "branch": row.branch_code,
            "opened_at": in_utc(row.opened_at),
            "promised_at": in_utc(row.promised_at),
        }
        for row in rows[:ROWS]
    ]
    return JsonResponse({"items": items, "next_cursor": cursor(rows)})


def cursor(rows: list[Any]) -> str | None:
    """As ours writes it, so that the two documents can be compared."""
    from intake.api.pages import _cursor

    return _cursor(rows[ROWS - 1]) if len(rows) > ROWS else None


@csrf_exempt
def sized(web: HttpRequest) -> HttpResponse:
    assert key_of(web).client.name
    requirement = read_requirement(json.loads(web.body))
    return JsonResponse(recommend(requirement, fleet_for({})).document())


def nothing(web: HttpRequest) -> HttpResponse:
    return HttpResponse(b"nothing")


urlpatterns: list[Any] = [
    path("floor/step/<str:keys>/<int:size>/", step),
    path("floor/requests", request_rows),
    path("floor/cases", case_rows),
    path("floor/sizing", sized),
    path("floor/nothing", nothing),
    path("", include("config.urls")),
]
