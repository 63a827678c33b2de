"""Our pages beside bare views of the same work: one run, taking turns, on gunicorn.

    python -m tests.bench.floors [PAIRS]        250 pairs of calls a row

A bare view makes the same queries and answers with as many bytes, behind the middlewares of a new
Django project, in the same process. Calls of ours and of the bare view alternate on one kept
connection, in five blocks; the ratio of each block's medians is taken, then their median and range.
``processor`` is the time of the thread that answered: a busy machine weighs little on it. Aims:
a page of the intake at most 1.5 times at p50 and 2 times at p99, a list of the API at most 2
times, a sizing of 20 loads under 60 ms at p95. DATABASE_URL takes another database than SQLite:
give it an empty one of its own.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from tests.bench import web_stage as stage
from tests.bench.web_stage import Answer, Ask, Caller, Plant, at, p50

BLOCKS = 5
WARM = 8
SITE = ("zip", "directions", "altitude", "ambient", "delivery")
PREVIEW_MS = 60.0


@dataclass
class Pair:
    """Ours and what stands beside it; the aims are ratios."""

    ours: Ask
    bare: Ask
    aim_p50: float = float("inf")
    aim_p99: float = float("inf")
    taken: list[list[tuple[Answer, Answer]]] = field(default_factory=list)

    def figures(self, side: int, what: str) -> list[float]:
        return [getattr(both[side], what) for block in self.taken for both in block]

    def ratios(self, what: str) -> list[float]:
        """The ratio of the medians, block by block."""
        return [
            p50([getattr(ours, what) for ours, _bare in block])
            / p50([getattr(bare, what) for _ours, bare in block])
            for block in self.taken
        ]


def pairs_of(plant: Plant, sizes: dict[str, int]) -> list[Pair]:
    site = plant.draft.at("site/")
    floor = f"/floor/step/{','.join(SITE)}/{sizes.get(site, 0)}/"
    shown = {"Cookie": plant.draft.cookie}
    key = {"Authorization": f"Bearer {plant.key}"}
    sized = {**key, "Content-Type": "application/json"}
    return [
        Pair(
            Ask("intake step, shown", "GET", site, shown),
            Ask("bare form", "GET", floor, shown),
            1.5,
            2.0,
        ),
        Pair(step_saved(plant, site, "9600"), step_saved(plant, floor, "9610"), 1.5, 2.0),
        Pair(
            Ask("API: 50 of 60 requests", "GET", "/api/v1/requests", key),
            Ask("by hand", "GET", "/floor/requests", key),
            2.0,
        ),
        Pair(
            Ask("API: 50 of 60 cases", "GET", "/api/v1/cases", key),
            Ask("by hand", "GET", "/floor/cases", key),
            2.0,
        ),
        Pair(
            Ask("API: sizing of 20 loads", "POST", "/api/v1/sizing", sized, preview()),
            Ask("the method in a view", "POST", "/floor/sizing", sized, preview()),
        ),
        Pair(
            Ask("nothing", "GET", "/health/live"),
            Ask("nothing, bare", "GET", "/floor/nothing"),
        ),
    ]


def step_saved(plant: Plant, path: str, altitude: str) -> Ask:
    """A page sent with one answer changed: ours and the bare view change it to and fro."""
    fields = {"zip": "80424", "ambient": "90", "delivery": "deliver", "altitude": altitude}
    body = stage.form({**fields, "seen": seen_with(plant, "9610")})
    headers = stage.posted(plant.draft.cookie)
    return Ask("intake step, saved", "POST", path, headers, body, 302)


def seen_with(plant: Plant, altitude: str) -> str:
    """The mark of the page that shows this altitude; it is left stored."""
    from intake.models import HireRequest
    from intake.requests.selectors import answers_of, answers_stamp
    from intake.steps.catalogue import STEP_BY_KEY

    request = HireRequest.objects.get(reference=plant.draft.reference)
    request.answers.filter(key="altitude").update(value=altitude)
    stamp: str = answers_stamp(answers_of(request), STEP_BY_KEY["site"].questions)
    return stamp


def preview() -> bytes:
    from tests.bench.sizing_cases import job

    return json.dumps(job(20)).encode()


# --- alike before they are measured -------------------------------------------------------
def asked_once(ask: Ask) -> tuple[int, bytes]:
    """How many queries a call makes, and its answer, asked inside this process."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    call = stage.in_process(ask)
    with CaptureQueriesContext(connection) as queries:
        answer = call()
    assert answer.status_code == ask.status, (ask.name, answer.status_code, answer.content[:300])
    return len(queries), answer.content


def alike(pair: Pair) -> str:
    """Refuse a floor that does other work than ours; return what both do."""
    for ask in (pair.ours, pair.bare):
        asked_once(ask)  # what is read once a process is read now
    ours, bare = asked_once(pair.ours), asked_once(pair.bare)
    assert ours[0] == bare[0], f"{pair.ours.name}: {ours[0]} queries, the bare view {bare[0]}"
    if pair.ours.path.startswith("/api/"):
        assert json.loads(ours[1]) == json.loads(bare[1]), f"{pair.ours.name}: other rows"
    elif pair.ours.status == 200 and ours[0]:
        apart = abs(len(ours[1]) - len(bare[1]))
        assert apart < 200, f"{pair.ours.name}: {apart} bytes apart"
    return f"{ours[0]:3} queries {len(ours[1]) / 1000:5.1f} kB"


# --- measured -----------------------------------------------------------------------------
def measured(pairs: list[Pair], port: int, count: int) -> None:
    """All pairs in turn, block by block, so that what happens meanwhile happens to all."""
    caller = Caller(port)
    for pair in pairs:
        block(pair, caller, WARM)
    for _ in range(BLOCKS):
        for pair in pairs:
            pair.taken.append(block(pair, caller, max(2, count // BLOCKS)))


def block(pair: Pair, caller: Caller, count: int) -> list[tuple[Answer, Answer]]:
    found = []
    for _ in range(count):
        ours = right(pair.ours, caller.ask(pair.ours))
        found.append((ours, right(pair.bare, caller.ask(pair.bare))))
    return found


def right(ask: Ask, answer: Answer) -> Answer:
    assert answer.status == ask.status, (ask.name, answer.status, answer.content[:300])
    return answer


def report(pairs: Sequence[Pair], about: dict[str, str]) -> None:
    print(
        f"{'':26}{'ours [ms]':>24}{'bare [ms]':>24}{'ratio p50':>22}{'p99':>6}"
        f"{'processor [ms]':>22}"
    )
    print(f"{'':26}" + f"{'p50':>8}{'p95':>8}{'p99':>8}" * 2 + f"{'(of five blocks)':>22}")
    for pair in pairs:
        ours, bare = pair.figures(0, "took_ms"), pair.figures(1, "took_ms")
        ratios = pair.ratios("took_ms")
        tail = at(ours, 0.99) / at(bare, 0.99)
        spent = [p50(pair.figures(side, "processor_ms")) for side in (0, 1)]
        print(
            f"{pair.ours.name:26}"
            + "".join(
                f"{at(one, share):8.2f}" for one in (ours, bare) for share in (0.5, 0.95, 0.99)
            )
            + f"{p50(ratios):8.2f} ({min(ratios):5.2f}-{max(ratios):5.2f}){tail:6.2f}"
            + f"{spent[0]:7.2f} /{spent[1]:6.2f} ={spent[0] / spent[1]:5.2f}"
        )
        print(f"{'':4}{about[pair.ours.name]}{verdict(pair, p50(ratios), tail)}")


def verdict(pair: Pair, middle: float, tail: float) -> str:
    if pair.ours.path == "/api/v1/sizing":
        p95 = at(pair.figures(0, "took_ms"), 0.95)
        return f"   aim: p95 under {PREVIEW_MS:.0f} ms: {'met' if p95 < PREVIEW_MS else 'MISSED'}"
    if pair.aim_p50 == float("inf"):
        return ""
    words = [f"p50 at most {pair.aim_p50} times: {'met' if middle <= pair.aim_p50 else 'MISSED'}"]
    if pair.aim_p99 < float("inf"):
        met = "met" if tail <= pair.aim_p99 else "MISSED"
        words.append(f"p99 at most {pair.aim_p99} times: {met}")
    return "   aim: " + ", ".join(words)


def bench(count: int = 250) -> None:
    print(stage.load_line("at the start"))
    with stage.folder():
        stage.django_ready("tests.bench.floor_settings")
        from django.db import connection, connections

        plant = stage.planted(drafts=0, quotes=0, cases=60, orders=0)
        sizes = {plant.draft.at("site/"): page_size(plant)}
        pairs = pairs_of(plant, sizes)
        about = {pair.ours.name: alike(pair) for pair in pairs}
        print(f"{connection.vendor}, one process of four threads, {count} pairs of calls a row")
        connections.close_all()
        with stage.gunicorn("tests.bench.floor_wsgi:application", workers=1) as port:
            measured(pairs, port, count)
    report(pairs, about)
    print(stage.load_line("at the end"))


def page_size(plant: Plant) -> int:
    ask = Ask("size", "GET", plant.draft.at("site/"), {"Cookie": plant.draft.cookie})
    return len(asked_once(ask)[1])


def main(argv: list[str]) -> Any:
    bench(*[int(word) for word in argv[:1]])


if __name__ == "__main__":
    main(sys.argv[1:])
