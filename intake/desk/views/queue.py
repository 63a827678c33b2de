"""The queue page, and its own refresh."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.safestring import SafeString

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
from intake.markup import NO_MARKUP, filled, filled_each

TAB: Final = '<a id="tab-{}" href="{}"{}>{}{}</a>'
CURRENT: Final = SafeString(' aria-current="page"')
COUNT: Final = ' <span class="count">{}</span>'
OPTION: Final = '<option value="{}"{}>{}</option>'
SELECTED: Final = SafeString(" selected")


@desk_page("read_desk")
def queue(request: HttpRequest) -> HttpResponse:
    """The cases by urgency. A refresh that would change nothing is answered with nothing."""
    assert isinstance(request.user, User)
    wanted, now = wanted_from(request.GET), timezone.now()
    cases, following = queue_page(user=request.user, wanted=wanted, now=now)
    tally = queue_tally(user=request.user, wanted=wanted, now=now)
    rows = queue_rows(cases, now)
    seen = digest(rows, tally.counts)
    if request.GET.get("seen") == seen:
        return HttpResponse(status=204)
    context = {
        "wanted": wanted,
        "lines": lines(rows),
        "counts": tally.counts,
        "digest": seen,
        "tabs": tabs(wanted, tally.counts),
        "refresh_address": refresh_address(wanted, seen),
        "next_address": wanted.address(after=following) if following else "",
        "first_address": wanted.address() if wanted.after else "",
        "page_size": PAGE,
    }
    if "seen" in request.GET and request.htmx:  # type: ignore[attr-defined]
        return render(request, "intake/desk/queue_list.html", context)
    owners = ((str(pk), name) for pk, name in workers_named())
    reasons = ((code, f"{reason_title(code)} ({count})") for code, count in tally.reasons)
    context |= {
        "owners": options(owners, wanted.owner),
        "reasons": options(reasons, wanted.reason),
    }
    return render(request, "intake/desk/queue.html", context)


def tabs(wanted: Wanted, counts: Mapping[str, int]) -> SafeString:
    """The tabs, with how many cases each open one holds."""
    return filled_each(
        TAB,
        (
            (
                tab.code,
                wanted.address(tab=tab.code),
                CURRENT if tab.code == wanted.tab else NO_MARKUP,
                tab.label,
                filled(COUNT, counts[tab.code]) if tab.code in counts else NO_MARKUP,
            )
            for tab in TABS
        ),
    )


def options(named: Iterable[tuple[str, str]], chosen: str) -> SafeString:
    """The options of a filter by value and name."""
    rows = ((value, SELECTED if value == chosen else NO_MARKUP, name) for value, name in named)
    return filled_each(OPTION, rows)


def refresh_address(wanted: Wanted, seen: str) -> str:
    """The same view again, to be answered only if it has changed since ``seen``."""
    address = wanted.address(after=wanted.after)
    return f"{address}{'&' if len(address) > 1 else ''}seen={seen}"
