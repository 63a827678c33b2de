"""Random faults, round after round, to one running service under load.

    python -m tests.faults.rounds --rounds 200 --seed 7 --database sqlite
    python -m tests.faults.rounds --rounds 200 --seed 7 --database postgres

`postgres` makes a server of its own, which is also crashed and restarted; an address of a database
runs on that one and only cuts its connections. SIGTERM ends the rounds early, with the verdict on
those that were played. Exit code 0: nothing lost, nothing doubled, nothing there of which nobody
was told, the audit is silent.
"""

from __future__ import annotations

import argparse
import signal
import sys
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from tests.faults.harm import Harm, faults
from tests.faults.stage import OWN_CLUSTER, SQLITE, Stage, begun, inside, stage

if TYPE_CHECKING:
    from tests.faults.checks import Verdict

LONGEST_CALM_S = 0.6  # before each fault
BUSY_WITHIN_S = 3.0
OWN_TURN_S = 0.0005  # the judge asks much of the database, and waits a turn for each customer
ANSWERS_AGAIN_S = 120
AT_REST_S = 300


@dataclass
class Tally:
    """What the rounds showed."""

    rounds: Counter[str] = field(default_factory=Counter)
    away_s: dict[str, list[float]] = field(default_factory=dict)
    ended: Counter[str] = field(default_factory=Counter)
    unsound: list[str] = field(default_factory=list)
    unparked: int = 0
    in_flight: list[int] = field(default_factory=list)
    judging_s: float = 0.0


def main(argv: list[str] | None = None) -> int:
    asked = asked_of(argv)
    sys.setswitchinterval(OWN_TURN_S)
    enough = threading.Event()
    signal.signal(signal.SIGTERM, lambda number, frame: enough.set())
    with stage(
        database=asked.database, seed=asked.seed, time_limit_s=asked.time_limit, web=asked.web
    ) as here:
        began = time.monotonic()
        begun(here)
        inside(here.field.plant)
        print(f"ready in {time.monotonic() - began:.0f} s", flush=True)
        tally, said = run(here, asked, enough)
        report(here, tally, asked, said)
        if tally.unsound and asked.logs:
            print(here.field.plant.logs())
        return 1 if tally.unsound else 0


def run(here: Stage, asked: argparse.Namespace, enough: threading.Event) -> tuple[Tally, str]:
    """Load the service, play the rounds, let it come to rest; return what all of that showed."""
    from tests.faults import checks

    before, began = checks.letters_asked(), time.monotonic()
    here.load(programs=asked.programs, people=asked.people, drivers=asked.drivers, seed=asked.seed)
    tally = played(here, asked.rounds, enough)
    hurt = time.monotonic()
    verdict = at_rest(here, tally)
    print(f"rounds {hurt - began:.0f} s, then at rest in {time.monotonic() - hurt:.0f} s")
    missing = checks.letters() - before - set(here.field.sink.copies())
    said = here.command("audit")
    tally.unsound += verdict.lines() + [f"letter {one} never arrived" for one in missing]
    tally.unsound += here.ledger.wrong + idle(here)
    if "promises hold" not in said:
        tally.unsound.append("the command found what the last judgement did not")
    return tally, said


def asked_of(argv: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--database", default=SQLITE, help=f"{SQLITE}, {OWN_CLUSTER} or an address")
    parser.add_argument("--programs", type=int, default=2)
    parser.add_argument("--people", type=int, default=1)
    parser.add_argument("--drivers", type=int, choices=(0, 1), default=1, help="sign for orders")
    parser.add_argument("--time-limit", type=int, default=20, help="of a task, in seconds")
    parser.add_argument("--web", type=int, default=2, help="processes of the site")
    parser.add_argument("--logs", action="store_true", help="show the logs where it did not hold")
    return parser.parse_args(argv)


def played(here: Stage, rounds: int, enough: threading.Event) -> Tally:
    """Do one fault a round, each kind as often as any other, until all are done or it is enough."""
    tally, bag = Tally(), list[Harm]()
    for number in range(1, rounds + 1):
        if enough.is_set():
            break
        if not bag:
            bag = faults(here.field)
            here.field.chance.shuffle(bag)
        one_round(here, tally, bag.pop(), number)
    return tally


def one_round(here: Stage, tally: Tally, harm: Harm, number: int) -> None:
    """1. wait a moment, and until a call is under way, 2. do harm, 3. wait until the site answers,
    4. judge."""
    name = harm.__name__
    here.field.moment(LONGEST_CALM_S)
    tally.in_flight.append(under_way(here))
    hurt = time.monotonic()
    harm(here.field)
    answered(here, tally)
    tally.rounds[name] += 1
    again = time.monotonic()
    tally.away_s.setdefault(name, []).append(again - hurt)
    verdict = judged_now(here, at_rest=False)
    tally.judging_s += time.monotonic() - again
    tally.unsound += [f"round {number} {name}: {line}" for line in verdict.lines()]
    told = "ok" if verdict.sound else "; ".join(verdict.lines())[:300]
    print(f"{number:4} {name:20} {tally.away_s[name][-1]:5.1f} s  {told}", flush=True)


def under_way(here: Stage) -> int:
    """Wait until a customer waits for an answer; return how many do."""
    deadline = time.monotonic() + BUSY_WITHIN_S
    while not (waiting := len(here.ledger.unsure())) and time.monotonic() < deadline:
        time.sleep(0.005)
    return waiting


def answered(here: Stage, tally: Tally) -> None:
    """Wait until the site answers, starting again what ended by itself meanwhile."""
    plant, deadline = here.field.plant, time.monotonic() + ANSWERS_AGAIN_S
    while True:
        for name in [n for n, process in plant.processes.items() if process.poll() is not None]:
            tally.ended[name] += 1
            print(f"{name} ended by itself:", plant.last_words(name), flush=True)
            plant.processes.pop(name)
            plant.start_part(name)
        if plant.answers():
            return
        if time.monotonic() > deadline:
            raise AssertionError(f"the site does not answer:\n{plant.logs()}")
        time.sleep(0.1)


def judged_now(here: Stage, *, at_rest: bool) -> Verdict:
    """Judge; where this process's own connection was cut, on a new one."""
    from django.db import Error, connection

    from tests.faults import checks

    for last in (False, False, True):
        try:
            return checks.judged(here.ledger, at_rest=at_rest)
        except Error:
            connection.close()
            if last:
                raise
            time.sleep(1)
    raise AssertionError


def at_rest(here: Stage, tally: Tally) -> Verdict:
    """Send the customers home, wait until all work is done, and judge once more."""
    here.hush()
    drained(here, tally)
    return judged_now(here, at_rest=True)


def drained(here: Stage, tally: Tally) -> None:
    """Wait until no message is left, giving a parked one a fresh start, as a person would."""
    from django.utils import timezone

    from intake.outbox.services import message_unpark
    from tests.faults import checks

    deadline = time.monotonic() + AT_REST_S
    while time.monotonic() < deadline:
        for message in checks.parked():
            tally.unparked += 1
            print(f"parked: {message}: {message.last_error}", flush=True)
            message_unpark(message_id=message.pk, now=timezone.now())
        if not checks.waiting():
            return
        answered(here, tally)
        time.sleep(0.5)


def idle(here: Stage) -> list[str]:
    """A run in which the customers got nothing done shows nothing."""
    return [f"nothing was {kind}" for kind in ("made", "sent") if not here.ledger.counts[kind]]


def report(here: Stage, tally: Tally, asked: argparse.Namespace, said: str) -> None:
    """Print the table and the verdict."""
    from tests.faults import checks

    print(f"\n{'fault':22}{'rounds':>7}{'mean s':>8}{'worst s':>9}")
    for name, times in sorted(tally.rounds.items()):
        away = tally.away_s[name]
        print(f"{name:22}{times:7}{sum(away) / times:8.1f}{max(away):9.1f}")
    copies = here.field.sink.copies()
    print(
        f"\nseed {asked.seed}, {asked.database.split(':')[0]}, {sum(tally.rounds.values())} rounds"
    )
    hit = sum(n > 0 for n in tally.in_flight)
    print(f"calls were under way in {hit} of them; judging took {tally.judging_s:.0f} s in all")
    print("customers saw:", dict(sorted(here.ledger.counts.items())))
    print("the database holds:", checks.counts())
    unsure = checks.unsure_in_the_end(here.ledger)
    print(f"never answered, so neither lost nor doubled: {len(unsure)}")
    for line in unsure:
        print("unsure", line)
    print(f"letters: {len(copies)}, of which {sum(n > 1 for n in copies.values())} arrived again")
    print(f"ended by themselves: {dict(tally.ended)}; parked, then done: {tally.unparked}")
    print("audit:", said.strip())
    for line in tally.unsound:
        print("WRONG", line)
    print("verdict:", "NOT SOUND" if tally.unsound else "zero lost, zero doubled")


if __name__ == "__main__":
    sys.exit(main())
