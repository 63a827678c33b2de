"""The queue: which cases a tab shows, how they are filtered, counted and paged."""

from __future__ import annotations

import base64
import binascii
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any, NamedTuple
from urllib.parse import urlencode

from django.contrib.auth.models import User
from django.db.models import Count, Q, QuerySet
from django.http import QueryDict

from intake.desk.access import branches_of, cases_of
from intake.desk.words import full_name
from intake.models import NOT_CLOSED, ON_THE_DESK, Case, CaseState
from intake.prepared import A_KEY, A_MOMENT, Prepared

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
    def owner(self) -> str:
        """The name of who has the case; nothing where nobody has it."""
        return full_name(self.owner__first_name, self.owner__last_name, self.owner__username)


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
    chosen: Callable[[int, datetime], Q]  # of a person by key, at a moment
    closed: bool = False


TABS = (
    Tab("desk", "On the desk", lambda person, now: back_on_the_desk(now)),
    Tab("mine", "Mine", lambda person, now: Q(owner=person, state__in=NOT_CLOSED)),
    Tab(
        "asked",
        "Asked the customer",
        lambda person, now: Q(state=CaseState.ASKED) & ~Q(snoozed_until__lte=now),
    ),
    Tab(
        "snoozed", "Put off", lambda person, now: Q(state=CaseState.SNOOZED, snoozed_until__gt=now)
    ),
    Tab("closed", "Closed", lambda person, now: Q(state__in=CLOSED), closed=True),
    Tab("all", "All", lambda person, now: Q(), closed=True),
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

    def address(self, *, tab: str = "", after: str = "") -> str:
        """The query string of this view, or of another tab's; on its first page unless said."""
        tab = tab or self.tab
        said = {
            "tab": "" if tab == "desk" else tab,
            "q": self.q,
            "reason": self.reason,
            "branch": self.branch,
            "owner": self.owner,
            "urgent": "1" if self.urgent else "",
            "after": after,
        }
        return f"?{urlencode({name: value for name, value in said.items() if value})}"


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
    if _everything(user, wanted) and not wanted.after:
        rows = [Line(*row) for row in FIRST_PAGES[wanted.tab].rows(user.pk, now)]
    else:
        cases = queue_filtered(user=user, wanted=wanted).filter(_after(wanted.after, tab))
        rows = [Line(*row) for row in _lines(cases, tab, user.pk, now)]
    more = len(rows) > PAGE
    return rows[:PAGE], _cursor(rows[PAGE - 1], tab) if more else ""


def queue_tally(*, user: User, wanted: Wanted, now: datetime) -> Tally:
    """How many cases each open tab holds under the same filters, and why they came; one query."""
    if _everything(user, replace(wanted, reason="")):
        found = TALLY.rows(user.pk, now)
    else:
        cases = queue_filtered(user=user, wanted=replace(wanted, reason=""))
        found = list(_tallied(cases, user.pk, now))
    rows = [dict(zip(TALLIED, row, strict=True)) for row in found]
    counted = [row for row in rows if wanted.reason in ("", row["reason"])]
    counts = {name: sum(row[name] for row in counted) for name in TALLIED[1:]}
    here = wanted.tab if wanted.tab in counts else "desk"
    reasons = sorted(((row["reason"], row[here]) for row in rows), key=lambda r: (-r[1], r[0]))
    return Tally(counts, reasons)


def _everything(user: User, wanted: Wanted) -> bool:
    """Whether no filter narrows the cases, nor the person's branches: what most ask for."""
    plain = Wanted(tab=wanted.tab, after=wanted.after)
    return wanted == plain and branches_of(user) is None


def _lines(
    cases: QuerySet[Case], tab: Tab, person: int, now: datetime
) -> QuerySet[Case, tuple[Any, ...]]:
    """A page of a tab and one line more."""
    chosen = cases.filter(tab.chosen(person, now))
    if not tab.closed:
        chosen = chosen.filter(state__in=NOT_CLOSED)  # lets the partial index serve it
    order = ("-id",) if tab.closed else ("tier", "due_at", "id")
    return chosen.order_by(*order).values_list(*Line._fields)[: PAGE + 1]


def _tallied(cases: QuerySet[Case], person: int, now: datetime) -> QuerySet[Case, tuple[Any, ...]]:
    """By reason: how many each open tab holds, and how many on the desk are pressing."""
    on_desk = back_on_the_desk(now)
    counted = {t.code: Count("id", filter=t.chosen(person, now)) for t in TABS if not t.closed}
    return (
        cases.filter(state__in=NOT_CLOSED)
        .values_list("reason")
        .annotate(
            **counted,
            emergencies=Count("id", filter=Q(urgent=True) & on_desk),
            overdue=Count("id", filter=Q(promised_at__lt=now) & on_desk),
        )
        .order_by()
    )


FIRST_PAGES = {
    tab.code: Prepared(
        lambda person, now, tab=tab: _lines(Case.objects.all(), tab, person, now), A_KEY, A_MOMENT
    )
    for tab in TABS
}
TALLIED = ("reason", *(tab.code for tab in TABS if not tab.closed), "emergencies", "overdue")
TALLY = Prepared(lambda person, now: _tallied(Case.objects.all(), person, now), A_KEY, A_MOMENT)


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
