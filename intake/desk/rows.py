"""A case as one line of the queue."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from functools import cache, lru_cache
from typing import Final, NamedTuple

from django.urls import reverse
from django.utils import dateformat
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language

from intake.desk.queue import Line
from intake.desk.words import against_promise, reason_title, span
from intake.markup import NO_MARKUP, filled
from intake.models import CaseState, Tier


class Row(NamedTuple):
    """What the queue shows of one case."""

    reference: str
    address: str
    headline: str
    reason: str
    owner: str
    branch: str
    starts: str
    flag: str  # the one word that makes it stand out: emergency, answered, soon
    waiting: str
    promise: str
    late: bool
    state: str
    open: bool


@cache
def _desk() -> str:
    """Where the desk is found: asked once, not for every row."""
    return reverse("desk:queue")


@lru_cache(maxsize=1024)
def day_short(day: date, language: str | None, form: str = "D M j") -> str:
    """A day as the desk writes it in the language that is active: ``Tue Jun 1``."""
    return dateformat.format(day, form)


LINE: Final = """<tr data-row>
    <td data-label="Case"><a id="case-{reference}" href="{address}">{headline}</a> <span class="quiet ref">{reference}</span>{flag}</td>
    <td data-label="Why">{reason}</td>
    <td data-label="Starts">{starts}</td>
    <td data-label="Waiting"><span>{waiting}{promise}</span></td>
    <td data-label="With"><span>{owner}<span class="quiet">{state}</span></span></td>
    <td data-label="Branch">{branch}</td>
  </tr>
"""  # noqa: E501 - as the page has it
FLAG: Final = ' <span class="badge {}">{}</span>'
PROMISE: Final = ' · <span class="{}">{}</span>'


def lines(rows: Iterable[Row]) -> SafeString:
    """The lines as the page has them; a line that says the same is written once a process."""
    return mark_safe("".join(map(_written, rows)))  # noqa: S308 - each is filled


@lru_cache(maxsize=2048)
def _written(row: Row) -> SafeString:
    strong = "badge-strong" if row.flag == "emergency" else ""
    late = "badge badge-stop" if row.late else "quiet"
    return filled(
        LINE,
        reference=row.reference,
        address=row.address,
        headline=row.headline,
        flag=filled(FLAG, strong, row.flag) if row.flag else NO_MARKUP,
        reason=row.reason,
        starts=row.starts or "not said",
        waiting=row.waiting,
        promise=filled(PROMISE, late, row.promise) if row.promise else NO_MARKUP,
        owner=f"{row.owner} " if row.owner else "",
        state=row.state,
        branch=row.branch or "none yet",
    )


FLAGS: Mapping[int, str] = {
    Tier.EMERGENCY: "emergency",
    Tier.ANSWERED: "answered",
    Tier.SOON: "starts soon",
}


def queue_rows(cases: Iterable[Line], now: datetime) -> list[Row]:
    """The cases, in words, at ``now``."""
    language = get_language()
    states = {state.value: str(state.label) for state in CaseState}
    return [_row(case, now, language, states) for case in cases]


def _row(case: Line, now: datetime, language: str | None, states: Mapping[str, str]) -> Row:
    closed = case.closed_at is not None
    reference = case.request__reference
    return Row(
        reference=reference,
        address=f"{_desk()}case/{reference}/",
        headline=case.headline or reference,
        reason=reason_title(case.reason),
        owner=case.owner,
        branch=case.branch_code,
        starts=day_short(case.starts_on, language) if case.starts_on else "",
        flag="" if closed else FLAGS.get(case.tier, ""),
        waiting=span((case.closed_at or now) - case.opened_at),
        promise="" if closed else against_promise(case.promised_at, now),
        late=not closed and case.promised_at < now,
        state=_standing(case, now, states),
        open=case.state == CaseState.OPEN,
    )


def _standing(case: Line, now: datetime, states: Mapping[str, str]) -> str:
    if case.snoozed_until and case.snoozed_until <= now:
        return "no answer yet" if case.state == CaseState.ASKED else "time is up"
    return states[case.state]


def digest(rows: list[Row], counts: dict[str, int]) -> str:
    """Changes when anything shown changes: lets a refresh leave a still page alone."""
    return hashlib.sha256(repr((rows, counts)).encode()).hexdigest()[:16]
