"""The installation's settings with a shorter wait for lost messages and a clock that jumps.

No other settings module reads `clock_offset_s`, so no installation's clock can be moved by it.
"""

from __future__ import annotations

import os
from datetime import datetime, timedelta
from pathlib import Path

from django.utils import timezone

from config.settings import *  # noqa: F403
from config.settings import CELERY_BROKER_TRANSPORT_OPTIONS, SETWRIGHT_HOME, TASK_TIME_LIMIT_S

CLOCK = Path(SETWRIGHT_HOME) / "clock_offset_s"
CELERY_BROKER_TRANSPORT_OPTIONS = {
    **CELERY_BROKER_TRANSPORT_OPTIONS,
    "visibility_timeout": int(os.environ.get("TEST_VISIBILITY_S", TASK_TIME_LIMIT_S + 1)),
    "unacked_restore_interval": 1,
}
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}

_true_now = timezone.now


def offset() -> timedelta:
    """Return by how much the clock of this installation is wrong at the moment."""
    try:
        return timedelta(seconds=float(CLOCK.read_text()))
    except (FileNotFoundError, ValueError):  # no jump yet, or the file is just being written
        return timedelta(0)


def jumped_now() -> datetime:
    return _true_now() + offset()


timezone.now = jumped_now
