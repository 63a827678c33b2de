"""The Celery application: at-least-once delivery to tasks that take effect once."""

from __future__ import annotations

import os
from typing import Any

import structlog
from celery import Celery, Task
from celery.signals import setup_logging, task_postrun, task_prerun

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

app = Celery("setwright")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
app.autodiscover_tasks(["config"], related_name="sweeps")


@setup_logging.connect
def keep_djangos_logging(**_: Any) -> None:
    """Leave logging as the settings made it."""


@task_prerun.connect
def bind_request_id(task: Task[Any, Any], task_id: str, **_: Any) -> None:
    """Log the task under the id of the request that caused it."""
    headers = task.request.headers or {}
    request_id = headers.get("request_id") or task_id
    structlog.contextvars.bind_contextvars(request_id=request_id, task=task.name, message=task_id)


@task_postrun.connect
def unbind_request_id(**_: Any) -> None:
    structlog.contextvars.unbind_contextvars("request_id", "task", "message")
