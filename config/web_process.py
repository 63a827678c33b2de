"""Gunicorn's settings: `gunicorn --config python:config.web_process config.wsgi:application`.

The processes of one gunicorn count their requests in files of one folder, so that any of them can
show the sum. The folder is emptied when gunicorn starts, before the first process counts. Where
none is named, each gunicorn has one of its own below the installation's folder, and holds a lock
in it: what a killed gunicorn left, the next one takes away.
"""

from __future__ import annotations

import fcntl
import gc
import os
import shutil
import tempfile
from pathlib import Path
from typing import Any

from config.home import home_path

VARIABLE = "PROMETHEUS_MULTIPROC_DIR"
LOCK = "lock"

worker_class = "gthread"
workers = 2
threads = 4
graceful_timeout = 10
loglevel = "warning"
_held: list[int] = []  # locks of this process and, by the fork, of its workers


def on_starting(server: Any) -> None:
    """Begin to count anew."""
    named = os.environ.get(VARIABLE, "")
    folder = folder_emptied(Path(named)) if named else folder_made(home_path() / "metrics")
    os.environ[VARIABLE] = str(folder)


def folder_emptied(folder: Path) -> Path:
    """The folder named, without what an earlier run counted in it."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    for left in folder.glob("*.db"):
        left.unlink(missing_ok=True)
    return folder


def folder_made(above: Path) -> Path:
    """A fresh folder of this process alone; those whose process is gone are taken away."""
    above.mkdir(mode=0o700, parents=True, exist_ok=True)
    turn = locked(above / LOCK, wait=True)  # two that start together come one after the other
    for left in above.glob("web-*"):
        if not still_held(left):
            shutil.rmtree(left, ignore_errors=True)
    folder = Path(tempfile.mkdtemp(prefix="web-", dir=above))
    _held.append(locked(folder / LOCK))
    os.close(turn)
    return folder


def still_held(folder: Path) -> bool:
    """Whether the gunicorn that counts there still runs, in whatever container."""
    try:
        os.close(locked(folder / LOCK))
    except BlockingIOError:
        return True
    return False


def locked(path: Path, *, wait: bool = False) -> int:
    """Lock a file; the lock goes with the process, however it ends."""
    handle = os.open(path, os.O_CREAT | os.O_RDWR, 0o600)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
    except BlockingIOError:
        os.close(handle)
        raise
    return handle


def post_worker_init(worker: Any) -> None:
    """Keep the collector from what the program itself is made of.

    Going through all of it stopped a process for a tenth of a second every few hundred pages. A
    page makes some thousand objects that its end frees without the collector: it need not look
    after every 700.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, *gc.get_threshold()[1:])


def on_exit(server: Any) -> None:
    """Take a folder of our own making away again."""
    folder = Path(os.environ.get(VARIABLE, "."))
    if _held and folder.name.startswith("web-"):
        shutil.rmtree(folder, ignore_errors=True)
