"""A working day's mix of calls at a constant rate, on the service as `setwright serve` runs it.

    python -m tests.bench.working_day [CALLS_A_SECOND] [SECONDS]        40 and 20

Calls arrive evenly, whether or not those before them were answered, and each is timed from the
moment it was due, so that waiting in line counts. The shares are those of config/SCALE.md. Then:
mixed reads at rising rates, what a call of each kind costs the web processes, quotes built from
what was sent, the memory of each process, and a profile. Nothing is asserted on time. The caller
runs on the same processors as the service.
"""

from __future__ import annotations

import itertools
import json
import os
import queue
import random
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from tests.bench import processes
from tests.bench import web_stage as stage
from tests.bench.web_stage import Ask, Caller, Place, Plant, at, p50
from tests.live_stack import Stack

AT_ONCE = 48  # callers who may wait at the same time
READ_RATES = (50, 100, 200, 300, 400, 500)
READ_S = 5.0
GOOD_MS = 300.0  # a page is there in time
COST_CALLS, COST_WARM = 20, 5
SHOWN = 20  # drafts whose pages are looked at
PROFILED = (
    "intake step, shown",
    "intake step, saved",
    "API: requests",
    "desk: queue",
    "quote page",
)


@dataclass
class Kind:
    """A kind of call: its share of the day in a thousand, and who may be asked for it."""

    share: int
    asks: tuple[Ask, ...]
    writes: bool = False  # each may be sent but once

    def __post_init__(self) -> None:
        self.supply: Iterator[Ask] = iter(self.asks) if self.writes else itertools.cycle(self.asks)

    @property
    def name(self) -> str:
        return self.asks[0].name


@dataclass
class Seen:
    """What became of the calls of one kind."""

    took_ms: list[float] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)


def gets(name: str, pages: Sequence[tuple[Place, str]]) -> tuple[Ask, ...]:
    return tuple(Ask(name, "GET", at.at(page), stage.shown(at.cookie)) for at, page in pages)


def kinds_of(plant: Plant, saves: int) -> list[Kind]:
    """The day of config/SCALE.md: 577 intake, 120 looking, 125 desk, 80 yard, 98 programs."""
    drafts, key = plant.drafts, {"Authorization": f"Bearer {plant.key}"}
    staff = stage.shown(plant.staff)
    shown, saved, sent = drafts[:SHOWN], drafts[SHOWN : SHOWN + saves], drafts[SHOWN + saves :]
    seen = mark_of(saved[0])
    steps = ("water/", "voltage/", "site/", "dates/", "around/", "contact/", "equipment/")
    return [
        Kind(240, gets("intake step, shown", [(d, s) for d in shown for s in steps])),
        Kind(45, gets("check your answers", [(d, "check/") for d in shown])),
        Kind(280, tuple(step_sent(place, seen) for place in saved), writes=True),
        Kind(12, tuple(request_sent(place) for place in sent), writes=True),
        Kind(60, gets("where it stands", [(place, "") for place in plant.cases])),
        Kind(60, gets("quote page", [(place, "quote/") for place in plant.quoted])),
        Kind(80, gets("hire page", [(place, "hire/") for place in plant.ordered])),
        Kind(45, (Ask("desk: queue", "GET", "/desk/", staff),)),
        Kind(
            80,
            tuple(
                Ask("desk: case", "GET", f"/desk/case/{c.reference}/", staff) for c in plant.cases
            ),
        ),
        Kind(30, (Ask("API: requests", "GET", "/api/v1/requests", key),)),
        Kind(
            40,
            tuple(Ask("API: one request", "GET", f"/api/v1/requests/{r}", key) for r in plant.made),
        ),
        Kind(10, (Ask("API: cases", "GET", "/api/v1/cases", key),)),
        Kind(18, (preview(key),)),
    ]


def step_sent(place: Place, seen: str) -> Ask:
    """The page of the site with one answer changed."""
    fields = {"zip": "80424", "altitude": "9610", "ambient": "90", "delivery": "deliver"}
    body = stage.form({**fields, "seen": seen})
    headers = stage.posted(place.cookie)
    return Ask("intake step, saved", "POST", place.at("site/"), headers, body, 302)


def mark_of(place: Place) -> str:
    """The mark of what the page of the site shows, the same for all copies of a draft."""
    from intake.models import HireRequest
    from intake.requests.selectors import answers_of, answers_stamp
    from intake.steps.catalogue import STEP_BY_KEY

    request = HireRequest.objects.get(reference=place.reference)
    stamp: str = answers_stamp(answers_of(request), STEP_BY_KEY["site"].questions)
    return stamp


def request_sent(place: Place) -> Ask:
    """Sent as the draft stands."""
    from intake.models import HireRequest

    version = HireRequest.objects.values_list("version", flat=True).get(reference=place.reference)
    body = stage.form({"version": str(version)})
    headers = stage.posted(place.cookie)
    return Ask("request sent and sized", "POST", place.at("check/"), headers, body, 302)


def preview(key: dict[str, str]) -> Ask:
    from tests.bench.sizing_cases import job

    headers = {**key, "Content-Type": "application/json"}
    body = json.dumps(job(20)).encode()
    return Ask("API: sizing of 20 loads", "POST", "/api/v1/sizing", headers, body)


# --- calls that do not wait for each other ------------------------------------------------
def arrivals(kinds: list[Kind], count: int, chance: random.Random) -> list[Ask]:
    """So many calls in the day's shares, in an order that a seed repeats."""
    chosen = chance.choices(kinds, [kind.share for kind in kinds], k=count)
    return [next(kind.supply) for kind in chosen]


def open_load(
    port: int, asks: Sequence[Ask], rate: float, *, callers: int = AT_ONCE
) -> tuple[dict[str, Seen], float]:
    """Send each when it is due; what became of them, and how long it all took."""
    due: queue.Queue[tuple[float, Ask] | None] = queue.Queue()
    seen: dict[str, Seen] = {ask.name: Seen() for ask in asks}
    team = [threading.Thread(target=answer_calls, args=(port, due, seen)) for _ in range(callers)]
    for one in team:
        one.start()
    begun = time.perf_counter()
    for number, ask in enumerate(asks):
        moment = begun + number / rate
        time.sleep(max(0.0, moment - time.perf_counter()))
        due.put((moment, ask))
    for _ in team:
        due.put(None)
    for one in team:
        one.join()
    return seen, time.perf_counter() - begun


def answer_calls(
    port: int, due: queue.Queue[tuple[float, Ask] | None], seen: dict[str, Seen]
) -> None:
    caller = Caller(port)
    while (call := due.get()) is not None:
        moment, ask = call
        mine = seen[ask.name]
        try:
            answer = caller.ask(ask)
        except OSError as error:
            mine.wrong.append(type(error).__name__)
            continue
        mine.took_ms.append(1000 * (time.perf_counter() - moment))
        if answer.status != ask.status:
            mine.wrong.append(str(answer.status))
    caller.close()


def table(seen: dict[str, Seen]) -> None:
    print(f"{'':28}{'calls':>7}{'p50':>9}{'p95':>9}{'p99':>9} ms  errors")
    for name, one in [*sorted(seen.items()), ("all together", together(seen))]:
        middle, slow, slowest = (at(one.took_ms, share) for share in (0.5, 0.95, 0.99))
        errors = f"{len(one.wrong)} {sorted(set(one.wrong))}" if one.wrong else "0"
        print(f"{name:28}{len(one.took_ms):7}{middle:9.1f}{slow:9.1f}{slowest:9.1f}     {errors}")


def together(seen: dict[str, Seen]) -> Seen:
    return Seen(
        [took for one in seen.values() for took in one.took_ms],
        [wrong for one in seen.values() for wrong in one.wrong],
    )


# --- the parts of the report --------------------------------------------------------------
def the_day(stack: Stack, kinds: list[Kind], rate: float, seconds: float) -> None:
    print(f"\n--- a working day's mix, {rate:g} calls a second for {seconds:g} s")
    asks = arrivals(kinds, int(rate * seconds), random.Random(9))
    seen, took_s = open_load(stack.port, asks, rate)
    table(seen)
    print(f"answered {len(asks) / took_s:.1f} a second")


def the_reads(stack: Stack, kinds: list[Kind]) -> None:
    """The same with reads alone, faster and faster until they come late."""
    print(f"\n--- mixed reads, {READ_S:g} s each; in time: p95 under {GOOD_MS:.0f} ms, no error")
    reads = [kind for kind in kinds if not kind.writes]
    for rate in READ_RATES:
        asks = arrivals(reads, int(rate * READ_S), random.Random(rate))
        spent_s = processes.web_seconds(stack)
        seen, took_s = open_load(stack.port, asks, rate)
        all_of = together(seen)
        spent_ms = 1000 * (processes.web_seconds(stack) - spent_s) / len(asks)
        p95 = at(all_of.took_ms, 0.95)
        good = p95 < GOOD_MS and not all_of.wrong
        print(
            f"{rate:4} a second asked, {len(asks) / took_s:6.1f} answered; p50 "
            f"{p50(all_of.took_ms):7.1f}  p95 {p95:7.1f}  p99 {at(all_of.took_ms, 0.99):7.1f} ms, "
            f"errors {len(all_of.wrong)}; {spent_ms:.2f} ms of processor a call: two would give "
            f"{2000 / spent_ms:.0f} a second{'' if good else '; LATE'}"
        )
        if took_s > 2 * READ_S:
            break


def the_costs(stack: Stack, kinds: list[Kind]) -> None:
    """One caller, one call after the other: what each costs the web processes."""
    print(f"\n--- one call at a time, {COST_CALLS} of each")
    print(f"{'':28}{'p50':>9}{'p95':>9} ms{'processor':>12} ms")
    caller = Caller(stack.port)
    for kind in kinds:
        for _ in range(COST_WARM):
            caller.ask(next(kind.supply))
        before = processes.web_seconds(stack)
        took_ms = [caller.ask(next(kind.supply)).took_ms for _ in range(COST_CALLS)]
        spent_ms = 1000 * (processes.web_seconds(stack) - before) / COST_CALLS
        print(f"{kind.name:28}{p50(took_ms):9.1f}{at(took_ms, 0.95):9.1f}{spent_ms:15.2f}")
    caller.close()


def the_quotes(stack: Stack) -> None:
    """What the workers made of the requests that were sent."""
    from intake.models import OutboxMessage

    deadline = time.monotonic() + 30
    left = OutboxMessage.objects.filter(done_at=None, parked_at=None, topic="quotes.build_quote")
    while left.exists() and time.monotonic() < deadline:
        time.sleep(0.2)
    rows = OutboxMessage.objects.filter(topic="quotes.build_quote").exclude(done_at=None)
    waits = [
        1000 * (done - made).total_seconds()
        for made, done in rows.exclude(published_at=None).values_list("created_at", "done_at")
    ]
    print("\n--- quotes of the requests that were sent, from sending to the priced PDF")
    print(f"built {len(waits)}, p50 {p50(waits):.0f} ms, p95 {at(waits, 0.95):.0f} ms")
    print(f"not done {left.count()}")


def bench(rate: float = 40.0, seconds: float = 20.0) -> None:
    print(stage.load_line("at the start"))
    with stage.folder() as home:
        stage.django_ready("config.settings")
        saves = int(rate * seconds * 0.28 * 1.3) + COST_CALLS + COST_WARM
        sends = int(rate * seconds * 0.012 * 3) + COST_CALLS + COST_WARM + 5
        plant = stage.planted(drafts=SHOWN + saves + sends, quotes=10, cases=60, orders=5)
        kinds = kinds_of(plant, saves)
        from django.db import connection, connections

        print(f"{connection.vendor}, 2 web processes of 4 threads, 2 task processes")
        connections.close_all()
        stack = Stack(home=home, command="serve", environment=environment()).start()
        try:
            measured(stack, kinds, rate, seconds)
        finally:
            stack.stop()
        print(stage.load_line("at the end of the calls"))
        processes.profiles([kind.asks[0] for kind in kinds if kind.name in PROFILED])


def measured(stack: Stack, kinds: list[Kind], rate: float, seconds: float) -> None:
    the_costs(stack, kinds)
    fresh = processes.memory(stack)
    the_day(stack, kinds, rate, seconds)
    the_quotes(stack)
    the_reads(stack, kinds)
    processes.memory_report(fresh, processes.memory(stack))


def environment() -> dict[str, str]:
    """What the folder's own variables would lose on the way to the service."""
    kept = ("DATABASE_URL", "REDIS_URL")
    own = {"EMAIL_URL": "dummymail://", "HTTPS_ONLY": "false"}
    return {**own, **{name: os.environ[name] for name in kept if name in os.environ}}


if __name__ == "__main__":
    bench(*[float(word) for word in sys.argv[1:3]])
