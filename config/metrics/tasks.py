"""How tasks ended and how long they took: counted in Redis, for workers are on any machine.

Redis may be away or lose its counts: the figures then begin anew, and no task suffers.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from functools import lru_cache

import redis
import structlog
from django.conf import settings
from prometheus_client.core import CounterMetricFamily, HistogramMetricFamily

KEY = "setwright:tasks"
SECONDS = (0.01, 0.05, 0.1, 0.5, 1.0, 3.0, 10.0, 30.0)
SUM = "sum"

log = structlog.get_logger(__name__)


def counting_server() -> redis.Redis:
    """The broker's server, where workers on every machine count together."""
    return _connected(settings.REDIS_URL)


@lru_cache(maxsize=4)
def _connected(url: str) -> redis.Redis:
    return redis.Redis.from_url(
        url, socket_timeout=2, socket_connect_timeout=2, decode_responses=True
    )


def task_counted(*, task: str, outcome: str, seconds: float) -> None:
    """Add one end of a task."""
    bucket = next((str(most) for most in SECONDS if seconds <= most), "+Inf")
    try:
        with counting_server().pipeline(transaction=False) as pipe:
            pipe.hincrby(KEY, f"{task}|{outcome.lower()}", 1)
            pipe.hincrby(KEY, f"{task}|le|{bucket}", 1)
            pipe.hincrbyfloat(KEY, f"{task}|{SUM}", round(seconds, 6))
            pipe.execute()
    except redis.RedisError as trouble:
        log.debug("task not counted", why=str(trouble))


class Stopwatch:
    """When each running task of this process began."""

    def __init__(self) -> None:
        self._began: dict[str, float] = {}

    def start(self, task_id: str) -> None:
        self._began[task_id] = time.perf_counter()

    def stop(self, task_id: str) -> float:
        now = time.perf_counter()
        return now - self._began.pop(task_id, now)


def task_families(counts: dict[str, str]) -> Iterator[CounterMetricFamily | HistogramMetricFamily]:
    """The counts as metrics: ends by outcome, and durations."""
    ends = CounterMetricFamily(
        "setwright_tasks", "Ends of tasks, by outcome.", labels=["task", "outcome"]
    )
    took = HistogramMetricFamily(
        "setwright_task_seconds", "Time a worker took for a task.", labels=["task"]
    )
    for field, count in sorted(counts.items()):
        task, kind = field.split("|", 1)
        if kind == SUM:
            took.add_metric([task], buckets=_buckets(task, counts), sum_value=float(count))
        elif not kind.startswith("le|"):
            ends.add_metric([task, kind], float(count))
    yield ends
    yield took


def _buckets(task: str, counts: dict[str, str]) -> list[tuple[str, float]]:
    """Prometheus wants each bucket to hold the smaller ones too."""
    held, buckets = 0.0, []
    for most in [*map(str, SECONDS), "+Inf"]:
        held += float(counts.get(f"{task}|le|{most}", 0))
        buckets.append((most, held))
    return buckets
