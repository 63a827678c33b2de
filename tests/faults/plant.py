"""Worker, relay and broker as separate processes, each of which a test may kill."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from config.home import private_redis_socket
from config.private_redis import server_command, server_program
from config.serve import redis_answers
from tests.live_stack import ROOT, clean_environment

TIME_LIMIT_S = 8


@dataclass
class Plant:
    """An installation on SQLite whose processes are started one by one."""

    home: Path
    time_limit_s: int = TIME_LIMIT_S
    processes: dict[str, subprocess.Popen[bytes]] = field(default_factory=dict)

    def run(self, *words: str) -> None:
        """Run a module's command to its end."""
        subprocess.run(
            [sys.executable, "-m", *words], cwd=ROOT, env=self.environment(), check=True, timeout=60
        )

    def environment(self) -> dict[str, str]:
        return clean_environment(
            self.home,
            TASK_TIME_LIMIT_S=str(self.time_limit_s),
            DJANGO_SETTINGS_MODULE="config.settings",
            PYTHONPATH=str(ROOT),
        )

    def start(self, name: str, *command: str) -> None:
        """Start a process in a group of its own, its output in a file of its name."""
        with (self.home / f"{name}.log").open("ab") as log:
            self.processes[name] = subprocess.Popen(
                command,
                cwd=ROOT,
                env=self.environment(),
                stdout=log,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )

    def start_broker(self) -> None:
        kind, program = server_program("auto")
        socket = private_redis_socket(self.home)
        socket.unlink(missing_ok=True)
        self.start(
            "broker",
            *server_command(kind=kind, program=program, socket=socket, data=self.home / "redis"),
        )
        self.wait_for(lambda: redis_answers(socket), 20)

    def start_worker(self, app: str = "tests.faults.acts") -> None:
        words = ["-m", "celery", "--app", app, "worker", "--concurrency", "1"]
        self.start("worker", sys.executable, *words, "--loglevel", "INFO", "--without-mingle")

    def start_relay(self) -> None:
        self.start("relay", sys.executable, "-m", "config", "relay")

    def put(self, topic: str, *, seconds: float) -> None:
        """Hand over one task, as a request would."""
        self.run("tests.faults.acts", "put", topic, str(seconds))

    def kill(self, name: str) -> None:
        """End a process and all its children at once, with no word of warning."""
        process = self.processes.pop(name)
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()

    def kill_child(self, pid: int) -> None:
        """End one child of the worker's pool."""
        os.kill(pid, signal.SIGKILL)

    def begun(self) -> list[int]:
        """Return the process ids of those that began a task, in order."""
        path = self.home / "begun"
        return [int(line) for line in path.read_text().split()] if path.exists() else []

    def one(self, sql: str) -> Any:
        """Read one value from the database."""
        with sqlite3.connect(f"file:{self.home}/setwright.sqlite3?mode=ro", uri=True) as connection:
            return connection.execute(sql).fetchone()[0]

    def effects(self) -> int:
        return int(self.one("SELECT count(*) FROM intake_event WHERE kind = 'slow_effect'"))

    def done(self) -> bool:
        return bool(self.one("SELECT count(done_at) = count(*) FROM intake_outboxmessage"))

    def wait_for(
        self, condition: Callable[[], bool], timeout_s: float, every_s: float = 0.1
    ) -> None:
        """Wait for a condition; fail with every log when it does not come."""
        deadline = time.monotonic() + timeout_s
        while not condition():
            dead = [name for name, process in self.processes.items() if process.poll() is not None]
            assert not dead, f"{dead} ended:\n{self.logs()}"
            assert time.monotonic() < deadline, f"not within {timeout_s} s:\n{self.logs()}"
            time.sleep(every_s)

    def logs(self) -> str:
        return "\n".join(f"--- {p.name}\n{p.read_text()}" for p in self.home.glob("*.log"))

    def end(self) -> None:
        for name in list(self.processes):
            self.kill(name)
