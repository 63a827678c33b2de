"""The figures page, and the same as CSV."""

from __future__ import annotations

from datetime import timedelta

from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from intake.desk.access import desk_page
from intake.desk.figures import PERIODS, Figure
from intake.desk.figures import figures as desk_figures
from intake.events.export import csv_response


@desk_page("read_figures")
@require_safe
def figures(request: HttpRequest) -> HttpResponse:
    """What the desk did in the last days."""
    days = _days(request)
    context = {"figures": _figures(request, days), "days": days, "periods": PERIODS}
    return render(request, "intake/desk/figures.html", context)


@desk_page("read_figures")
@require_safe
def figures_csv(request: HttpRequest) -> HttpResponseBase:
    """The same figures as one CSV: figure, then its columns."""
    rows = [
        (figure.title, *row) for figure in _figures(request, _days(request)) for row in figure.rows
    ]
    return csv_response("figures.csv", ("figure", "what", "value", "value 2", "value 3"), rows)


def _figures(request: HttpRequest, days: int) -> list[Figure]:
    assert isinstance(request.user, User)
    now = timezone.now()
    return desk_figures(user=request.user, since=now - timedelta(days=days), now=now)


def _days(request: HttpRequest) -> int:
    asked = request.GET.get("days", "")
    return int(asked) if asked in {str(days) for days in PERIODS} else 28
