"""What waits, read at the moment of asking: the same figures whichever web process is asked."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from typing import Any

import redis
from django.db import DatabaseError
from django.db.models import Count, QuerySet
from django.utils import timezone
from prometheus_client.core import GaugeMetricFamily, Metric
from prometheus_client.registry import Collector

from config.broker import QUEUES
from config.metrics.tasks import KEY, counting_server, task_families
from intake.models import NOT_CLOSED, Case
from intake.outbox.selectors import (
    outbox_overdue_since,
    outbox_parked,
    outbox_running,
    outbox_unpublished,
)
from quotes.models import Quote


class WorkCollector(Collector):
    """Database and broker; the part that does not answer is left out, and said to be down."""

    def collect(self) -> Iterator[Metric]:
        now = timezone.now()
        parts = {
            "database": part_read(lambda: database_families(now=now)),
            "broker": part_read(broker_families),
        }
        answers = {part: float(bool(found)) for part, found in parts.items()}
        yield _by("up", "Whether a part answers.", "part", answers)
        for found in parts.values():
            yield from found


def part_read(read: Callable[[], Iterable[Metric]]) -> list[Metric]:
    """All figures of a part, or none where it does not answer."""
    try:
        return list(read())
    except (DatabaseError, redis.RedisError):
        return []


def database_families(*, now: datetime) -> Iterator[Metric]:
    """The outbox, the desk and the quotes."""
    since = outbox_overdue_since(now=now)
    age = (now - since).total_seconds() if since else 0.0
    due, running = outbox_unpublished(now=now).count(), outbox_running().count()
    yield _gauge("outbox_due", "Messages due and not yet published.", due)
    yield _gauge("outbox_age_seconds", "How long the first of them has been due.", age)
    yield _gauge("outbox_running", "Messages published and not yet done.", running)
    yield _gauge("outbox_parked", "Messages set aside for a person.", outbox_parked().count())
    cases = Case.objects.filter(state__in=NOT_CLOSED)
    yield _by("cases", "Cases not closed, by state.", "state", _counted(cases))
    yield _by("quotes", "Quotes, by state.", "state", _counted(Quote.objects.all()))


def broker_families() -> Iterator[Metric]:
    """Lengths of the queues, and what the workers counted."""
    server = counting_server()
    lengths = {name: float(str(server.llen(name))) for name in QUEUES}
    yield _by("queue_length", "Messages in a queue of the broker.", "queue", lengths)
    yield from task_families(server.hgetall(KEY))  # type: ignore[arg-type]


def _counted(rows: QuerySet[Any]) -> dict[str, float]:
    found = rows.order_by().values("state").annotate(n=Count("pk"))
    return {row["state"]: float(row["n"]) for row in found}


def _gauge(name: str, about: str, value: float) -> GaugeMetricFamily:
    return GaugeMetricFamily(f"setwright_{name}", about, value=value)


def _by(name: str, about: str, label: str, values: dict[str, float]) -> GaugeMetricFamily:
    family = GaugeMetricFamily(f"setwright_{name}", about, labels=[label])
    for key, value in sorted(values.items()):
        family.add_metric([key], value)
    return family
