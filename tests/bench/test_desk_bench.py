"""The desk at 100,000 cases on PostgreSQL, each page beside a bare view of as many queries.

Run with ``pytest tests/bench/test_desk_bench.py --benchmark-only``; DESK_CASES takes another
number. A bare view behind the same middleware makes as many queries by key, reads as many rows and
answers with as many bytes, so the ratio says what our own queries and templates cost. Nothing is
asserted on time.
"""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Callable
from functools import partial
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import include, path, reverse

from intake.models import Case
from tests.intake.desk import cast

CASES = int(os.environ.get("DESK_CASES", "100000"))
OPEN_ONE_IN = 20
ROUNDS = 60

pytestmark = [
    pytest.mark.postgres,
    pytest.mark.django_db(transaction=False),
    pytest.mark.skipif(
        "postgres" not in os.environ.get("DATABASE_URL", ""), reason="DATABASE_URL is no PostgreSQL"
    ),
]

COPIES = """
insert into intake_hirerequest (reference, token_hash, link_generation, link_expires_at, status,
  version, language, branch_code, created_at, updated_at, submitted_at)
select 'B' || lpad(n::text, 8, '0'), md5(n::text) || md5(n::text), 1, now() + interval '90 days',
  case when n %% {open} = 0 then 'in_review' else 'pricing' end, 1, 'en',
  (array['RIDGE', 'FRONT', 'PLAINS'])[1 + n %% 3], now(), now(), now()
from generate_series(1, %s) n
"""
CASE_ROWS = """
insert into intake_case (request_id, state, version, urgent, tier, branch_code, reason, headline,
  opened_at, promised_at, due_at, closed_at, times_opened, customer_words, search_text, needless)
select r.id, case when r.status = 'in_review' then 'open' else 'released' end, 1, r.id %% 50 = 0,
  case when r.id %% 50 = 0 then 0 else 3 end, r.branch_code,
  (array['supply_unsure', 'nameplate_contradiction', 'life_safety', 'altitude_unsure']
  )[1 + r.id %% 4],
  'Company ' || r.id || ' · A pump', now() - (r.id %% 900) * interval '1 minute',
  now() + ((r.id %% 900) - 300) * interval '1 minute',
  now() + ((r.id %% 900) - 300) * interval '1 minute',
  case when r.status = 'in_review' then null else now() - (r.id %% 90) * interval '1 day' end,
  1, '', lower(r.reference) || ' company ' || r.id || ' pump 10 hp 460 v 3 ph', r.id %% 3 = 0
from intake_hirerequest r where r.reference like 'B________'
"""


@pytest.fixture
def crowded(db: None, settings: Any) -> Client:
    """A rep signed in, among a hundred thousand cases of which one in twenty is open."""
    settings.ROOT_URLCONF = __name__
    settings.SETWRIGHT_FLEET_SOURCE = "tests.intake.desk.cast.fleet_source"
    cast.unsure_voltage()
    with connection.cursor() as cursor:
        cursor.execute(COPIES.format(open=OPEN_ONE_IN), [CASES])
        cursor.execute(CASE_ROWS.replace("%%", "%"))
        cursor.execute("analyze")
    client = Client()
    client.force_login(cast.person("rosa", "rep"))
    return client


def bare(request: HttpRequest, queries: int, rows: int, size: int) -> HttpResponse:
    """As many queries, as many rows by key, as many bytes: what Django costs without our work."""
    assert request.user.is_authenticated  # two queries: the session and the person
    list(Case.objects.select_related("request").order_by("pk")[:rows])
    for _ in range(queries - 3):
        User.objects.get(pk=request.user.pk)
    return HttpResponse(b"x" * size)


urlpatterns = [
    path("bare/<int:queries>/<int:rows>/<int:size>/", bare),
    path("", include("config.urls")),
]


def times_ms(*acts: Callable[[], object]) -> list[list[float]]:
    """Each act's times in order of length; the acts take turns, so that a busy machine is fair."""
    found: list[list[float]] = [[] for _ in acts]
    for _ in range(ROUNDS):
        for act, mine in zip(acts, found, strict=True):
            start = time.perf_counter()
            act()
            mine.append(1000 * (time.perf_counter() - start))
    return [sorted(mine) for mine in found]


def p95(found: list[float]) -> float:
    return found[int(0.95 * len(found)) - 1]


PAGES = {
    "queue": lambda: reverse("desk:queue"),
    "queue, deep page": lambda: deep_page(),
    "queue, one reason": lambda: reverse("desk:queue") + "?reason=life_safety",
    "queue, search": lambda: reverse("desk:queue") + "?q=company+99999",
    "queue, closed": lambda: reverse("desk:queue") + "?tab=closed",
    "case": lambda: reverse("desk:case", args=[_real_case()]),
}


def _real_case() -> str:
    found = Case.objects.exclude(request__reference__startswith="B").first()
    assert found is not None
    return found.request.reference


def deep_page() -> str:
    """The address of a page far down the queue."""
    from intake.desk.queue import TAB_BY_CODE, _cursor

    last = Case.objects.filter(state="open").order_by("-tier", "-due_at", "-id")[200]
    return f"{reverse('desk:queue')}?after={_cursor(last, TAB_BY_CODE['desk'])}"


def test_pages_beside_bare_views(crowded: Client, record_property: Any) -> None:
    print(f"\n{CASES:,} cases, one in {OPEN_ONE_IN} open; {ROUNDS} rounds")
    head = ("queries", "kB", "p50 ms", "p95 ms", "bare p95", "ratio")
    print(f"{'page':20}" + "".join(f"{name:>9}" for name in head))
    for name, address in PAGES.items():
        where = address()
        with CaptureQueriesContext(connection) as queries:
            response = crowded.get(where)
        assert response.status_code == 200
        rows = len(response.context.get("rows") or [1])
        asked, size = len(queries), len(response.content)
        ours, theirs = times_ms(
            partial(crowded.get, where), partial(crowded.get, f"/bare/{asked}/{rows}/{size}/")
        )
        ratio = p95(ours) / p95(theirs)
        record_property(name, f"{ratio:.1f}")
        print(
            f"{name:20}{asked:9}{size / 1000:9.0f}{statistics.median(ours):9.1f}"
            f"{p95(ours):9.1f}{p95(theirs):9.1f}{ratio:9.1f}"
        )
