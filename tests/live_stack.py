"""The whole service as a customer's machine runs it, in a folder and on a port of its own."""

from __future__ import annotations

import fcntl
import os
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

START_S = 240
STOP_S = 60
ROOT = Path(__file__).resolve().parent.parent
HOMES = "SETWRIGHT_TEST_HOMES"  # where prepared folders wait to be copied, one place a test run


def free_port() -> int:
    """Return a port that nothing listens on at this moment."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def clean_environment(home: Path, **extra: str) -> dict[str, str]:
    """Return this process's environment without what the tests themselves put there."""
    mine = ("DATABASE_URL", "REDIS_URL", "EMAIL_URL", "HTTPS_ONLY", "DJANGO_SETTINGS_MODULE")
    mine += ("DJANGO_ALLOW_ASYNC_UNSAFE",)
    rest = {name: value for name, value in os.environ.items() if name not in mine}
    return {**rest, "SETWRIGHT_HOME": str(home), **extra}


def home_prepared(home: Path, *, demo: bool) -> None:
    """Fill a folder with tables and, when asked, the demo: made once a test run, then copied."""
    made = Path(os.environ[HOMES]) / ("demo" if demo else "bare")
    made.mkdir(parents=True, exist_ok=True)
    with (made / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not (made / "home").exists():
            for command in ("migrate", "load_demo") if demo else ("migrate",):
                prepare(made / "unfinished", command)
            (made / "unfinished").rename(made / "home")
    shutil.copytree(made / "home", home)


def prepare(home: Path, command: str) -> None:
    """Run one command of preparation in a folder."""
    words = [sys.executable, "-m", "config", command, "--verbosity", "0"]
    done = subprocess.run(
        words, cwd=ROOT, env=clean_environment(home), capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


@dataclass
class Stack:
    """`setwright demo` (or `serve`) as a process."""

    home: Path
    environment: dict[str, str] = field(default_factory=dict)
    command: str = "demo"
    port: int = field(default_factory=free_port)
    process: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def log(self) -> str:
        return (self.home.parent / "stack.log").read_text(errors="replace")

    def start(self) -> Stack:
        """Start the service and wait until it answers."""
        if not self.home.exists() and "DATABASE_URL" not in self.environment:
            home_prepared(self.home, demo=self.command == "demo")
        with (self.home.parent / "stack.log").open("ab") as log:
            said_before = self.log.count("serving at")
            self.process = subprocess.Popen(
                [sys.executable, "-m", "config", self.command, "--port", str(self.port)],
                cwd=ROOT,
                env=clean_environment(self.home, **self.environment),
                stdout=log,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
        self.wait_for(lambda: self.log.count("serving at") > said_before, START_S)
        return self

    def stop(self) -> int:
        """Stop the service as Ctrl-C does and return its exit code."""
        assert self.process is not None
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
        return self.process.wait(STOP_S)

    def wait_for(self, condition: Any, timeout_s: float) -> None:
        """Wait for a condition; fail with the log when it does not come or the service ends."""
        deadline = time.monotonic() + timeout_s
        while not condition():
            ended = self.process is not None and self.process.poll() is not None
            if ended or time.monotonic() > deadline:
                raise AssertionError(f"the service {'ended' if ended else 'is late'}:\n{self.log}")
            time.sleep(0.1)

    def get(self, path: str) -> tuple[int, str]:
        """Return the status and the body of a page."""
        try:
            with urllib.request.urlopen(self.url + path, timeout=20) as answer:
                return answer.status, answer.read().decode()
        except urllib.error.HTTPError as refused:
            return refused.code, refused.read().decode()

    def rows(self, sql: str, *values: object) -> list[tuple[Any, ...]]:
        """Read the service's SQLite database."""
        with sqlite3.connect(f"file:{self.home}/setwright.sqlite3?mode=ro", uri=True) as connection:
            return connection.execute(sql, values).fetchall()

    def run(self, *words: str) -> subprocess.CompletedProcess[str]:
        """Run a `setwright` command in the service's folder."""
        return subprocess.run(
            [sys.executable, "-m", "config", *words],
            cwd=ROOT,
            env=clean_environment(self.home, **self.environment),
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
