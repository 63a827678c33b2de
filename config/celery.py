"""The Celery application: at-least-once delivery to tasks that take effect once."""

from __future__ import annotations

import os
from typing import Any

import structlog
from celery import Celery, Task
from celery.signals import setup_logging, task_postrun, task_prerun
from django.conf import settings
from kombu.transport import TRANSPORT_ALIASES

from config.metrics.tasks import Stopwatch, task_counted

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

# Before the first connection: kombu looks a scheme up once.
TRANSPORT_ALIASES.update(dict.fromkeys(("redis", "rediss"), "config.redis_transport:Transport"))

app = Celery("setwright")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.conf.worker_pool = "config.prefork_pool:TaskPool"
app.autodiscover_tasks()
app.autodiscover_tasks(["config"], related_name="sweeps")

stopwatch = Stopwatch()
log = structlog.get_logger(__name__)


@setup_logging.connect
def keep_djangos_logging(**_: Any) -> None:
    """Leave logging as the settings made it."""


@task_prerun.connect
def bind_request_id(task: Task[Any, Any], task_id: str, **_: Any) -> None:
    """Log the task under the id of the request that caused it."""
    stopwatch.start(task_id)
    headers = task.request.headers or {}
    request_id = headers.get("request_id") or task_id
    structlog.contextvars.bind_contextvars(request_id=request_id, task=task.name, message=task_id)


@task_postrun.connect
def task_ended(
    task: Task[Any, Any], task_id: str, retval: object = None, state: str = "", **_: Any
) -> None:
    """Count and log how the task ended; a handler that finds its work done returns False."""
    seconds = stopwatch.stop(task_id)
    outcome = "idle" if retval is False else (state or "unknown").lower()
    task_counted(task=task.name, outcome=outcome, seconds=seconds)
    if settings.LOG_REQUESTS:
        log.info("task", outcome=outcome, ms=round(1000 * seconds, 1))
    structlog.contextvars.unbind_contextvars("request_id", "task", "message")
    from quotes.privacy.forgetting import work_ended  # once the applications are there

    work_ended()
