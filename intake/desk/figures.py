"""Figures of the desk over a period: waiting, clear at first, why cases came, what came of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median, quantiles

from django.conf import settings
from django.contrib.auth.models import User
from django.db.models import Count
from django.utils.module_loading import import_string

from intake.desk.access import branches_of, cases_of
from intake.desk.words import reason_title, span
from intake.models import Case, HireRequest, Status

PERIODS = (7, 28, 91)
BAR_PITCH, BAR_LONGEST = 24, 220  # in units of the drawing


@dataclass(frozen=True, slots=True)
class Figure:
    """One table with a title; ``bars`` is the column drawn as bars, if any."""

    code: str
    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    bars: tuple[tuple[str, float, str], ...] = ()  # label, share of the longest, what is written

    @property
    def drawn(self) -> list[dict[str, object]]:
        """The bars with their places in the drawing."""
        return [_bar(n, *bar) for n, bar in enumerate(self.bars)]

    @property
    def height(self) -> int:
        return BAR_PITCH * len(self.bars)


def _bar(n: int, label: str, share: float, written: str) -> dict[str, object]:
    width = round(BAR_LONGEST * share)
    top = BAR_PITCH * n
    return {"label": label, "y": top + 4, "text_y": top + 17, "width": width,
            "end": 208 + width + 6, "written": written}  # fmt: skip


def figures(*, user: User, since: datetime, now: datetime) -> list[Figure]:
    """Every figure the person may see, over one period."""
    closed = _closed(user, since)
    own = [
        waiting(closed),
        first_time_clear(user, since),
        reasons(closed),
        outcomes(user, since),
    ]
    return own + _from_others(user, since, now)


def _from_others(user: User, since: datetime, now: datetime) -> list[Figure]:
    """Figures of what lies above the intake, from wherever the installation keeps them."""
    sources: Iterable[str] = settings.SETWRIGHT_FIGURE_SOURCES
    found: list[Figure] = []
    for path in sources:
        source: Callable[..., Iterable[tuple[str, str, Sequence[str], Sequence[Sequence[str]]]]]
        source = import_string(path)
        for code, title, columns, rows in source(
            since=since, now=now, branch_codes=branches_of(user)
        ):
            found.append(Figure(code, title, tuple(columns), tuple(tuple(r) for r in rows)))
    return found


def _closed(user: User, since: datetime) -> list[Case]:
    wanted = ("state", "opened_at", "closed_at", "promised_at", "reason", "needless")
    return list(cases_of(user).filter(closed_at__gte=since).only(*wanted))


def waiting(closed: Sequence[Case]) -> Figure:
    """How long customers waited for the end of their case, and whether the promise was kept."""
    times = sorted(_minutes(case.opened_at, case.closed_at) for case in closed)
    kept = sum(1 for case in closed if case.closed_at and case.closed_at <= case.promised_at)
    rows = [("cases closed", f"{len(closed)}")]
    if times:
        ninth = quantiles(times, n=10)[-1] if len(times) > 1 else times[0]
        rows += [
            ("half of them within", span(timedelta(minutes=median(times)))),
            ("nine in ten within", span(timedelta(minutes=ninth))),
            ("within the promised time", _share(kept, len(closed))),
        ]
    return Figure("waiting", "Waiting time", ("", ""), tuple(rows))


def first_time_clear(user: User, since: datetime) -> Figure:
    """The share of requests that no person had to touch before the quote."""
    sent = HireRequest.objects.filter(submitted_at__gte=since)
    branches = branches_of(user)
    if branches is not None:
        sent = sent.filter(branch_code__in=[*branches, ""])
    total, with_case = sent.count(), sent.filter(case__isnull=False).count()
    rows = (
        ("requests sent", f"{total}"),
        ("clear at first", f"{total - with_case}"),
        ("share", _share(total - with_case, total)),
    )
    return Figure("first_time_clear", "Clear at first", ("", ""), rows)


def reasons(closed: Sequence[Case]) -> Figure:
    """Why cases came to a person, and how many of them turned out needless."""
    came = Counter(case.reason for case in closed)
    needless = Counter(case.reason for case in closed if case.needless)
    most = max(came.values(), default=1)
    rows = tuple(
        (reason_title(code), f"{n}", f"{needless[code]}", _share(needless[code], n))
        for code, n in came.most_common()
    )
    bars = tuple((reason_title(code), n / most, f"{n}") for code, n in came.most_common(12))
    note = "Needless: released with the same set, and no answer had to be corrected."
    columns = ("reason", "cases", "needless", "share needless")
    return Figure("reasons", "Why cases came", columns, rows, note, bars)


def outcomes(user: User, since: datetime) -> Figure:
    """Where the requests of the period stand: won, lost, still open."""
    sent = HireRequest.objects.filter(submitted_at__gte=since)
    branches = branches_of(user)
    if branches is not None:
        sent = sent.filter(branch_code__in=[*branches, ""])
    counted = dict(sent.values_list("status").annotate(n=Count("id")))
    rows = tuple(
        (str(Status(status).label), f"{counted[status]}")
        for status in Status.values
        if status in counted
    )
    return Figure("outcomes", "What became of the requests", ("status", "requests"), rows)


def is_needless(case: Case, first: dict[str, object], last: dict[str, object]) -> bool:
    """Whether asking changed nothing: the same sets at the same supply, and nothing corrected."""
    corrected = case.findings.filter(state="corrected").exists()
    return not corrected and _what(first) == _what(last)


def _what(result: dict[str, object]) -> object:
    chosen = result.get("recommendation")
    assert chosen is None or isinstance(chosen, dict)
    return (chosen["sets"], chosen["supply"]) if chosen else None


def _minutes(start: datetime, end: datetime | None) -> float:
    assert end is not None
    return (end - start).total_seconds() / 60


def _share(part: int, whole: int) -> str:
    return f"{100 * part / whole:.0f} %" if whole else "–"
