"""What a running service's processes cost, as Linux counts it, and where one call's time goes."""

from __future__ import annotations

import cProfile
import os
import pstats
import time
from collections import defaultdict
from pathlib import Path
from typing import Any

from tests.bench.web_stage import Ask, in_process
from tests.live_stack import Stack

TICKS = os.sysconf("SC_CLK_TCK")
PROFILED = 40
TOP = 6
PARTS = (
    ("translation", ("django/utils/translation", "gettext.py")),
    ("templates", ("django/template", "django/templatetags", "django/utils/html", "safestring")),
    ("database, ORM", ("django/db", "psycopg", "sqlite")),
    ("forms", ("django/forms",)),
    ("REST framework, JSON", ("rest_framework", "json/")),
    ("counting requests", ("prometheus_client", "config/metrics")),
    ("sizing", ("/sizing/",)),
    ("ours", ("/intake/", "/quotes/", "/config/")),
    ("the rest of Django", ("django", "whitenoise", "axes", "asgiref")),
)


# --- processes ----------------------------------------------------------------------------
def family(top: int) -> dict[int, str]:
    """A process and all below it, each with its command line."""
    parents: dict[int, int] = {}
    words: dict[int, str] = {}
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            pid, stat = int(folder.name), (folder / "stat").read_text()
            parents[pid] = int(stat.rsplit(")", 1)[1].split()[1])
            words[pid] = (folder / "cmdline").read_bytes().replace(b"\0", b" ").decode()
        except OSError:
            continue
    found = {top}
    while grown := {pid for pid, above in parents.items() if above in found} - found:
        found |= grown
    return {pid: words.get(pid, "") for pid in sorted(found)}


def part_of(words: str) -> str:
    """Which part of the service a command line is."""
    names = ("gunicorn", "beat", "worker", "relay", "redis", "valkey")
    return next((name for name in names if name in words), "supervisor")


def web_seconds(stack: Stack) -> float:
    """Processor time that the web processes have used."""
    assert stack.process is not None
    web = [pid for pid, words in family(stack.process.pid).items() if "gunicorn" in words]
    return sum(map(processor_s, web))


def processor_s(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


def memory(stack: Stack) -> dict[int, tuple[str, float, float]]:
    """Proportional and resident size of each process [MB]; shared pages count by their share."""
    assert stack.process is not None
    found = {}
    for pid, words in family(stack.process.pid).items():
        try:
            rollup = Path(f"/proc/{pid}/smaps_rollup").read_text()
        except OSError:
            continue
        sizes = {line.split(":")[0]: line.split()[1] for line in rollup.splitlines()[1:]}
        found[pid] = part_of(words), int(sizes["Pss"]) / 1024, int(sizes["Rss"]) / 1024
    return found


def memory_report(
    before: dict[int, tuple[str, float, float]], after: dict[int, tuple[str, float, float]]
) -> None:
    print("\n--- memory of each process [MB]: proportional before the load, after; resident after")
    for pid, (name, pss, rss) in after.items():
        earlier = f"{before[pid][1]:7.1f}" if pid in before else "      -"
        print(f"{name:12}{earlier} -> {pss:6.1f}   resident {rss:6.1f}")
    print(f"{'all':12}{'':7}    {sum(one[1] for one in after.values()):6.1f}")


# --- where the time goes ------------------------------------------------------------------
def profiles(asks: list[Ask]) -> None:
    """A profile of each, asked inside this process on the same data."""
    print(f"\n--- where the time goes: {PROFILED} calls of each in one process, processor time")
    for ask in asks:
        profile(ask)


def profile(ask: Ask) -> None:
    call = in_process(ask)
    for _ in range(3):
        call()
    watch = cProfile.Profile(time.thread_time)  # what else runs on the machine counts little
    watch.enable()
    for _ in range(PROFILED):
        call()
    watch.disable()
    told: Any = pstats.Stats(watch)
    shares: dict[str, float] = defaultdict(float)
    for (file, _line, name), (_cc, _calls, own_s, _all, _callers) in told.stats.items():
        shares[part_named(file, name)] += own_s
    whole = sum(shares.values())
    parts = sorted(shares.items(), key=lambda one: -one[1])
    print(f"* {ask.name}: " + ", ".join(f"{name} {100 * s / whole:.0f} %" for name, s in parts))
    for line in heaviest(told):
        print(f"    {line}")


def part_named(file: str, name: str) -> str:
    where = file if file != "~" else name
    return next((part for part, signs in PARTS if any(s in where for s in signs)), "Python itself")


def heaviest(told: Any) -> list[str]:
    """Our own functions in which most time is spent, with all they call."""
    ours = [
        (all_s, calls, f"{Path(file).parent.name}/{Path(file).name}:{line} {name}")
        for (file, line, name), (_cc, calls, _own, all_s, _callers) in told.stats.items()
        if any(f"/{top}/" in file for top in ("intake", "quotes", "sizing", "config"))
        and "site-packages" not in file and name != "__call__"
    ]  # fmt: skip
    return [
        f"{1000 * all_s / PROFILED:6.2f} ms  {calls / PROFILED:5.1f} times  {where}"
        for all_s, calls, where in sorted(ours, reverse=True)[:TOP]
    ]
