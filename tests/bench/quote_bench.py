"""How fast quotes are made and found. Nothing is asserted on time; the report says what it took.

    python -m tests.bench.quote_bench build    one process: a build beside a bare compile
    python -m tests.bench.quote_bench stack    the running demo: submit to PDF, quotes a second
    DATABASE_URL=postgres:///NAME python -m tests.bench.quote_bench stored 1000 1000000

``stored`` fills the database with invented quotes: give it a database of its own.
"""

from __future__ import annotations

import itertools
import json
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

ROUNDS = 40
NO_MESSAGE = "00000000-0000-4000-8000-000000000000"


def milliseconds(act: Callable[[], object]) -> float:
    begun = time.perf_counter()
    act()
    return 1000 * (time.perf_counter() - begun)


def spread(name: str, taken_ms: Sequence[float]) -> float:
    """Print median and 95th percentile; return the median."""
    ordered = sorted(taken_ms)
    p95 = ordered[max(0, round(0.95 * len(ordered)) - 1)]
    print(f"{name:42} p50 {statistics.median(ordered):9.2f} ms   p95 {p95:9.2f} ms")
    return statistics.median(ordered)


def django_ready() -> None:
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()


# --- one process --------------------------------------------------------------------------
def bench_build() -> None:
    """Interleaved, so that a busy machine weighs on all alike."""
    os.environ.setdefault("SETWRIGHT_HOME", tempfile.mkdtemp(prefix="quote-bench-"))
    django_ready()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    from quotes.demo.company import company_load
    from tests.quotes import cast

    company_load(now=cast.NOW)
    quote = cast.quoted()
    rows: dict[str, list[float]] = {
        "no-op message": [],
        "bare compile": [],
        "sizing": [],
        "typst alone": [],
        "document": [],
        "build": [],
    }
    print(f"load of the machine at the start: {os.getloadavg()[0]:.1f}")
    typeset = typesetting(quote)
    for _round in range(ROUNDS):
        rows["typst alone"].append(milliseconds(typeset))
        rows["no-op message"].append(no_op_ms(cast))
        rows["bare compile"].append(milliseconds(bare_compile))
        rows["sizing"].append(milliseconds(sizing_again))
        rows["document"].append(milliseconds(lambda: document_again(quote)))
        asked = cast.quote_asked(cast.request_in_pricing())
        rows["build"].append(milliseconds(lambda asked=asked: cast.deliver(asked)))
    medians = {name: spread(name, taken) for name, taken in rows.items()}
    print(f"build / bare compile  {medians['build'] / medians['bare compile']:.1f} x")
    print(f"build / no-op message {medians['build'] / medians['no-op message']:.1f} x")
    print(f"builds a second in one process {1000 / medians['build']:.1f}")
    allowed("by the clock", medians)
    spent = {
        "sizing": processor_ms(sizing_again),
        "typst alone": processor_ms(typeset),
        "build": processor_ms(lambda: cast.deliver(cast.quote_asked(cast.request_in_pricing()))),
    }
    spent["build"] -= processor_ms(lambda: cast.quote_asked(cast.request_in_pricing()))
    allowed("by processor time", spent)
    print(f"load of the machine at the end: {os.getloadavg()[0]:.1f}")


def allowed(how: str, taken_ms: dict[str, float]) -> None:
    """How many quotes are made of those that sizing and typst alone would allow."""
    alone_ms = taken_ms["sizing"] + taken_ms["typst alone"]
    whole_ms = taken_ms["sizing"] + taken_ms["build"]
    print(
        f"{how}: sized and built {1000 / whole_ms:.1f} quotes a second; sizing "
        f"{taken_ms['sizing']:.1f} ms and typst {taken_ms['typst alone']:.1f} ms alone would allow "
        f"{1000 / alone_ms:.1f}: {alone_ms / whole_ms:.2f} of it (aim 0.7)"
    )


def processor_ms(act: Callable[[], object]) -> float:
    """Median processor time of an act: what else runs on the machine counts little."""
    taken = []
    for _ in range(ROUNDS):
        begun = time.process_time()
        act()
        taken.append(1000 * (time.process_time() - begun))
    return statistics.median(taken)


def no_op_ms(cast: Any) -> float:
    """A message of the same topic that finds nothing to do: start, mark, done."""
    request = cast.request_in_pricing()
    asked = cast.quote_asked(request)
    type(request).objects.filter(pk=request.pk).update(status="withdrawn")
    return milliseconds(lambda: cast.deliver(asked))


def sizing_again() -> object:
    """The sizing of the story's job against the demo's fleet, as it is done when it is sent."""
    import demo_fixtures
    from quotes.fleet.selectors import fleet_for_sizing
    from sizing import read_requirement, recommend

    return recommend(read_requirement(demo_fixtures.story("dewatering")), fleet_for_sizing())


def bare_compile() -> bytes:
    import typst

    from quotes.documents.typeset import fonts

    content: bytes = typst.compile(b"hello", font_paths=fonts())
    return content


def typesetting(quote: Any) -> Callable[[], bytes]:
    """The PDF of facts that are ready: each time another number and link, as in a build.

    What typst has laid out before it remembers, so that the same facts again would cost nothing.
    """
    from quotes.documents.facts import paper_facts
    from quotes.documents.pdf import offer_pdf
    from tests.quotes.cast import NOW

    facts, number = json.dumps(paper_facts(quote)), itertools.count(1000)

    def typeset() -> bytes:
        name = f"{next(number)}-{next(number)}"
        renamed = json.loads(facts.replace(quote.request.reference, name))
        link = f"https://hire.example.com/r/{name}{34 * 'x'}"
        content: bytes = offer_pdf(renamed, link=link, made_at=NOW)
        return content

    return typeset


def document_again(quote: Any) -> bytes:
    from quotes.documents.services import document_content
    from tests.quotes.cast import NOW

    content: bytes = document_content(quote=quote, now=NOW)
    return content


# --- the running service ------------------------------------------------------------------
def bench_stack(count: int = 30) -> None:
    """Through the outbox, the relay, the broker and the worker of a running demo."""
    from tests.live_stack import Stack

    home = Path(tempfile.mkdtemp(prefix="quote-bench-")) / "home"
    stack = Stack(home=home, environment={"EMAIL_URL": "dummymail://"}).start()
    try:
        os.environ["SETWRIGHT_HOME"] = str(home)
        django_ready()
        wait_until_idle()
        spread("submit to priced PDF, one at a time", [one_by_one() for _ in range(count)])
        no_ops = drained(count * 2, withdrawn=True)
        builds = drained(count * 2, withdrawn=False)
        print(f"no-op messages a second {no_ops:.1f}")
        print(f"quotes a second         {builds:.1f}, all workers of the demo together")
        print(f"a quote / a no-op       {no_ops / builds:.1f} x")
    finally:
        stack.stop()


def one_by_one() -> float:
    from django.utils import timezone

    from quotes.models import Quote, QuoteState
    from tests.quotes import cast

    request = cast.request_in_pricing(now=timezone.now())
    begun = time.perf_counter()
    cast.quote_asked(request, now=timezone.now())
    offered = Quote.objects.filter(request=request, state=QuoteState.OFFERED)
    wait(lambda: offered.exists())
    return 1000 * (time.perf_counter() - begun)


def drained(count: int, *, withdrawn: bool) -> float:
    """Messages a second, from the first start to the last mark."""
    from django.utils import timezone

    from intake.models import HireRequest, OutboxMessage
    from tests.quotes import cast

    made = [cast.request_in_pricing(now=timezone.now()) for _ in range(count)]
    if withdrawn:
        keys = [request.pk for request in made]
        HireRequest.objects.filter(pk__in=keys).update(status="withdrawn")
    asked = [cast.quote_asked(request, now=timezone.now()).id for request in made]
    left = OutboxMessage.objects.filter(pk__in=asked, done_at=None)
    wait(lambda: not left.exists())
    first = min(OutboxMessage.objects.filter(pk__in=asked).values_list("published_at", flat=True))
    last = max(OutboxMessage.objects.filter(pk__in=asked).values_list("done_at", flat=True))
    return count / (last - first).total_seconds()


def wait_until_idle() -> None:
    from intake.models import OutboxMessage

    wait(lambda: not OutboxMessage.objects.filter(done_at=None, parked_at=None).exists(), 120)


def wait(condition: Callable[[], bool], seconds: float = 300) -> None:
    deadline = time.monotonic() + seconds
    while not condition():
        if time.monotonic() > deadline:
            raise TimeoutError
        time.sleep(0.01)


# --- many stored quotes -------------------------------------------------------------------
FILL_REQUESTS = """
insert into intake_hirerequest (reference, token_hash, link_generation, link_expires_at, status,
  version, language, branch_code, created_at, updated_at, submitted_at)
select 'B' || lpad(n::text, 8, '0'), 'bench' || n, 1, now() + interval '90 days',
  case when mod(n, 20) = 0 then 'quoted' else 'expired' end, 2, 'en', '', now(), now(), now()
from generate_series(%s, %s) n"""
FILL_RUNS = """
insert into intake_sizingrun (request_id, number, requirement, result, outcome, fleet_digest,
  tables_digest, code_version, made_at)
select id, 1, '{}', '{}', 'recommended', '-', '-', '-', now() from intake_hirerequest
where reference between %s and %s"""
FILL_QUOTES = """
insert into quotes_quote (request_id, revision, message_id, state, run_id, branch_id, card_id,
  starts_on, ends_on, choices, content, reason, net, tax, total, deposit, terms_version,
  valid_until, created_at, offered_at)
select r.id, 1, gen_random_uuid(), case when r.status = 'quoted' then 'offered' else 'expired' end,
  s.id, b.id, c.id, current_date + 20, current_date + 30, '{}', '{}', '', 100, 0, 100, 0, '1',
  now() + interval '14 days', now(), now()
from intake_hirerequest r join intake_sizingrun s on s.request_id = r.id,
  (select min(id) id from quotes_branch) b, (select min(id) id from quotes_ratecard) c
where r.reference between %s and %s"""


def bench_stored(sizes: list[int]) -> None:
    """The same look-ups at each size, with the plan of each at the last."""
    django_ready()
    from django.core.management import call_command
    from django.db import connection

    assert connection.vendor == "postgresql", "set DATABASE_URL to a PostgreSQL database of its own"
    call_command("migrate", verbosity=0)
    from django.utils import timezone

    from quotes.demo.company import company_load

    company_load(now=timezone.now())
    stored = 0
    for size in sizes:
        fill(stored + 1, size)
        stored = size
        print(f"--- {size:,} stored quotes")
        for name, act in lookups(size).items():
            act()
            spread(name, [milliseconds(act) for _ in range(ROUNDS)])
    plans(sizes[-1])


def fill(first: int, last: int) -> None:
    from django.db import connection

    step = 50_000
    with connection.cursor() as cursor:
        for low in range(first, last + 1, step):
            high = min(last, low + step - 1)
            names = [f"B{low:08d}", f"B{high:08d}"]
            cursor.execute(FILL_REQUESTS, [low, high])
            cursor.execute(FILL_RUNS, names)
            cursor.execute(FILL_QUOTES, names)
        cursor.execute("analyze intake_hirerequest, intake_sizingrun, quotes_quote")


def querysets(size: int) -> dict[str, Any]:
    """The reads that every page and sweep rest on."""
    from datetime import timedelta

    from django.utils import timezone

    from intake.models import HireRequest
    from quotes.models import Quote
    from quotes.offers.selectors import SHOWN

    now, middle = timezone.now(), f"B{size // 2:08d}"
    request = HireRequest.objects.get(reference=middle)
    newest = Quote.objects.select_related("request", "branch").order_by("-pk")
    soon = Quote.objects.filter(state="offered", reminded_at=None, valid_until__gt=now)
    return {
        "the customer's current quote": Quote.objects.filter(request=request, state__in=SHOWN)
        .order_by("-revision")[:1],
        "the desk's first page": newest[:51],
        "the desk's page in the middle": newest.filter(pk__lt=size // 2)[:51],
        "the desk, by reference": newest.filter(request__reference=middle)[:51],
        "offers run out": Quote.objects.filter(state="offered", valid_until__lt=now)
        .order_by("valid_until")[:200],
        "offers to remind of": soon.filter(valid_until__lte=now + timedelta(days=2))
        .order_by("valid_until")[:200],
        "a second delivery": Quote.objects.filter(message_id=NO_MESSAGE),
    }  # fmt: skip


def lookups(size: int) -> dict[str, Callable[[], object]]:
    return {name: (lambda rows=rows: list(rows.all())) for name, rows in querysets(size).items()}


def plans(size: int) -> None:
    print("--- plans")
    for name, rows in querysets(size).items():
        print(f"* {name}")
        print("    " + rows.explain(analyze=True).replace("\n", "\n    "))


def main(argv: list[str]) -> int:
    kinds: dict[str, Callable[[], None]] = {
        "build": bench_build,
        "stack": bench_stack,
        "stored": lambda: bench_stored([int(size) for size in argv[1:]] or [1_000, 1_000_000]),
    }
    if not argv or argv[0] not in kinds:
        print(__doc__)
        return 2
    kinds[argv[0]]()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
