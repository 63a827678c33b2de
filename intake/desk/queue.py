"""The queue: which cases a tab shows, how they are filtered, counted and paged."""

from __future__ import annotations

import base64
import binascii
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any, NamedTuple

from django.contrib.auth.models import User
from django.db.models import Count, Q, QuerySet
from django.http import QueryDict

from intake.desk.access import cases_of
from intake.models import NOT_CLOSED, ON_THE_DESK, Case, CaseState

PAGE = 50
COUNTED_UP_TO = 1000
CLOSED = (CaseState.RELEASED, CaseState.DECLINED)


class Line(NamedTuple):
    """What the queue reads of a case, and of its request and owner."""

    pk: int
    state: str
    tier: int
    due_at: datetime
    branch_code: str
    reason: str
    headline: str
    starts_on: date | None
    opened_at: datetime
    promised_at: datetime
    snoozed_until: datetime | None
    closed_at: datetime | None
    request__reference: str
    owner__first_name: str | None
    owner__last_name: str | None
    owner__username: str | None

    @property
    def reference(self) -> str:
        return self.request__reference

    @property
    def owner(self) -> str:
        """The name of who has the case, as the record writes it; nothing where nobody has it."""
        full = f"{self.owner__first_name or ''} {self.owner__last_name or ''}".strip()
        return full or self.owner__username or ""


FILTERS = ("tab", "q", "reason", "branch", "owner", "urgent")


def back_on_the_desk(now: datetime) -> Q:
    """Cases that want a rep now: waiting, held, or put off until a moment that has passed."""
    return Q(state__in=ON_THE_DESK) | Q(
        state__in=(CaseState.ASKED, CaseState.SNOOZED), snoozed_until__lte=now
    )


@dataclass(frozen=True, slots=True)
class Tab:
    """One view of the queue. ``closed`` tabs run backwards in time."""

    code: str
    label: str
    chosen: Callable[[User, datetime], Q]
    closed: bool = False


TABS = (
    Tab("desk", "On the desk", lambda user, now: back_on_the_desk(now)),
    Tab("mine", "Mine", lambda user, now: Q(owner=user, state__in=NOT_CLOSED)),
    Tab(
        "asked",
        "Asked the customer",
        lambda user, now: Q(state=CaseState.ASKED) & ~Q(snoozed_until__lte=now),
    ),
    Tab("snoozed", "Put off", lambda user, now: Q(state=CaseState.SNOOZED, snoozed_until__gt=now)),
    Tab("closed", "Closed", lambda user, now: Q(state__in=CLOSED), closed=True),
    Tab("all", "All", lambda user, now: Q(), closed=True),
)
TAB_BY_CODE = {tab.code: tab for tab in TABS}


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the address asks for."""

    tab: str = "desk"
    q: str = ""
    reason: str = ""
    branch: str = ""
    owner: str = ""
    urgent: bool = False
    after: str = ""

    def address(self, **changes: object) -> str:
        """The query string of this view with some filters changed; always starts a new page."""
        wanted = replace(self, **{"after": "", **changes})  # type: ignore[arg-type]
        query = QueryDict(mutable=True)
        for name in (*FILTERS, "after"):
            value = getattr(wanted, name)
            if value and not (name == "tab" and value == "desk"):
                query[name] = "1" if value is True else str(value)
        return f"?{query.urlencode()}"


@dataclass(frozen=True, slots=True)
class Tally:
    """Counts by tab, and by reason within the tab that is shown."""

    counts: dict[str, int]
    reasons: list[tuple[str, int]]


def wanted_from(query: QueryDict) -> Wanted:
    """Read the address; what it does not know is left out."""
    tab = query.get("tab") or ("all" if query.get("q") else "desk")
    return Wanted(
        tab=tab if tab in TAB_BY_CODE else "desk",
        q=query.get("q", "").replace("\x00", "").strip()[:100],
        reason=query.get("reason", "").replace("\x00", "")[:40],
        branch=query.get("branch", "").replace("\x00", "")[:20],
        owner=query.get("owner", "") if query.get("owner", "").isdigit() else "",
        urgent=query.get("urgent") == "1",
        after=query.get("after", ""),
    )


def queue_filtered(*, user: User, wanted: Wanted) -> QuerySet[Case]:
    """All cases that pass the filters, whatever the tab."""
    cases = cases_of(user)
    for word in wanted.q.lower().split()[:8]:
        cases = cases.filter(search_text__contains=word)
    exact = {
        "reason": wanted.reason,
        "branch_code": wanted.branch,
        "owner_id": int(wanted.owner[:9]) if wanted.owner else None,
        "urgent": wanted.urgent or None,
    }
    return cases.filter(**{name: value for name, value in exact.items() if value})


def queue_page(*, user: User, wanted: Wanted, now: datetime) -> tuple[list[Line], str]:
    """One page of cases in order of urgency, and the cursor of the next page (or nothing)."""
    tab = TAB_BY_CODE[wanted.tab]
    cases = queue_filtered(user=user, wanted=wanted).filter(tab.chosen(user, now))
    if not tab.closed:
        cases = cases.filter(state__in=NOT_CLOSED)  # lets the partial index serve it
    order = ("-id",) if tab.closed else ("tier", "due_at", "id")
    found = cases.filter(_after(wanted.after, tab)).order_by(*order)
    rows = [Line(*row) for row in found.values_list(*Line._fields)[: PAGE + 1]]
    more = len(rows) > PAGE
    return rows[:PAGE], _cursor(rows[PAGE - 1], tab) if more else ""


def queue_tally(*, user: User, wanted: Wanted, now: datetime) -> Tally:
    """How many cases each open tab holds under the same filters, and why they came; one query."""
    everywhere = replace(wanted, reason="")
    on_desk = back_on_the_desk(now)
    rows: list[dict[str, Any]] = list(
        queue_filtered(user=user, wanted=everywhere)
        .filter(state__in=NOT_CLOSED)
        .values("reason")
        .annotate(
            **{t.code: Count("id", filter=t.chosen(user, now)) for t in TABS if not t.closed},
            emergencies=Count("id", filter=Q(urgent=True) & on_desk),
            overdue=Count("id", filter=Q(promised_at__lt=now) & on_desk),
        )  # type: ignore[arg-type]
    )
    counted = [row for row in rows if wanted.reason in ("", row["reason"])]
    names = [tab.code for tab in TABS if not tab.closed] + ["emergencies", "overdue"]
    counts = {name: sum(row[name] for row in counted) for name in names}
    here = wanted.tab if wanted.tab in counts else "desk"
    reasons = sorted(((row["reason"], row[here]) for row in rows), key=lambda r: (-r[1], r[0]))
    return Tally(counts, reasons)


def _cursor(case: Line, tab: Tab) -> str:
    facts = f"{case.pk}" if tab.closed else f"{case.pk}|{case.tier}|{case.due_at.isoformat()}"
    return base64.urlsafe_b64encode(facts.encode()).decode().rstrip("=")


def _after(cursor: str, tab: Tab) -> Q:
    """The rows behind a cursor; a cursor that cannot be read starts from the top."""
    try:
        parts = base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)).decode().split("|")
        if tab.closed:
            return Q(pk__lt=int(parts[0])) if cursor else Q()
        pk, tier, due_at = int(parts[0]), int(parts[1]), datetime.fromisoformat(parts[2])
    except (ValueError, IndexError, binascii.Error):
        return Q()
    same_tier = Q(tier=tier) & (Q(due_at__gt=due_at) | Q(due_at=due_at, pk__gt=pk))
    return Q(tier__gte=tier) & (Q(tier__gt=tier) | same_tier)
