"""Gunicorn's settings: `gunicorn --config python:config.web_process config.wsgi:application`.

The processes of one gunicorn count their requests in files of one folder, so that any of them can
show the sum. The folder is emptied when gunicorn starts, before the first process counts.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path
from typing import Any

VARIABLE = "PROMETHEUS_MULTIPROC_DIR"

worker_class = "gthread"
workers = 2
threads = 4
graceful_timeout = 10
loglevel = "warning"


def on_starting(server: Any) -> None:
    """Begin to count anew."""
    os.environ[VARIABLE] = str(metrics_folder_emptied(os.environ.get(VARIABLE, "")))


def metrics_folder_emptied(named: str) -> Path:
    """The folder named, without what an earlier run left in it; else a fresh one."""
    if not named:
        return Path(tempfile.mkdtemp(prefix="setwright-metrics-"))
    folder = Path(named)
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    for left in folder.glob("*.db"):
        left.unlink(missing_ok=True)
    return folder


def on_exit(server: Any) -> None:
    """Take a folder of our own making away again."""
    folder = Path(os.environ.get(VARIABLE, "."))
    if folder.name.startswith("setwright-metrics-"):
        shutil.rmtree(folder, ignore_errors=True)
