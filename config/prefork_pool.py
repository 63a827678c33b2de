"""Celery's pool of processes, whose worker outlives a child that it lost sight of.

When a lost connection makes the worker end several children at once, it may take the end of one
for the end of its successor, which got the same file descriptor, and watch that one no longer.
At the next connection it adds a descriptor that is None to the event loop. Celery passes over
what raises OSError or AttributeError there, but kombu raises ValueError, and the worker ends.
Here it passes over that too. A child that is not watched is found by the pool's own round, within
five seconds of its end.

The module's name says prefork because Celery looks for that word in it, to know that children
must not share the parent's connections to the database.
"""

from __future__ import annotations

from contextlib import suppress
from typing import Any

from celery.concurrency import prefork
from celery.concurrency.asynpool import AsynPool
from kombu.asynchronous import Hub


class ForgivingPool(AsynPool):
    """The stock processes; one whose end cannot be watched is none to die of."""

    def _track_child_process(self, proc: Any, hub: Hub) -> None:
        """Override what no public name reaches; its test tells when Celery changes it."""
        with suppress(ValueError):
            super()._track_child_process(proc, hub)  # type: ignore[misc]


class TaskPool(prefork.TaskPool):
    """The stock pool of these processes."""

    Pool = ForgivingPool
