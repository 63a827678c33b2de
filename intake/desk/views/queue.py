"""The queue page, and its own refresh."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from intake.desk.access import desk_page, workers_named
from intake.desk.queue import (
    PAGE,
    TABS,
    Wanted,
    queue_page,
    queue_tally,
    wanted_from,
)
from intake.desk.rows import digest, lines, queue_rows
from intake.desk.words import reason_title


@desk_page("read_desk")
def queue(request: HttpRequest) -> HttpResponse:
    """The cases by urgency. A refresh that would change nothing is answered with nothing."""
    wanted = wanted_from(request.GET)
    context = queue_context(request.user, wanted, timezone.now())  # type: ignore[arg-type]
    if request.GET.get("seen") == context["digest"]:
        return HttpResponse(status=204)
    partial = "seen" in request.GET and request.htmx  # type: ignore[attr-defined]
    template = "intake/desk/queue_list.html" if partial else "intake/desk/queue.html"
    return render(request, template, context)


def queue_context(user: User, wanted: Wanted, now: datetime) -> dict[str, Any]:
    cases, following = queue_page(user=user, wanted=wanted, now=now)
    tally = queue_tally(user=user, wanted=wanted, now=now)
    counts = tally.counts
    rows = queue_rows(cases, now)
    seen = digest(rows, counts)
    return {
        "wanted": wanted,
        "lines": lines(rows),
        "counts": counts,
        "digest": seen,
        "tabs": [(tab, wanted.address(tab=tab.code), counts.get(tab.code)) for tab in TABS],
        "reasons": [(c, reason_title(c), n) for c, n in tally.reasons],
        "refresh_address": refresh_address(wanted, seen),
        "next_address": wanted.address(after=following) if following else "",
        "first_address": wanted.address() if wanted.after else "",
        "page_size": PAGE,
        "owners": [(str(pk), name) for pk, name in workers_named()],
    }


def refresh_address(wanted: Wanted, seen: str) -> str:
    """The same view again, to be answered only if it has changed since ``seen``."""
    address = wanted.address(after=wanted.after)
    return f"{address}{'&' if len(address) > 1 else ''}seen={seen}"
