"""An installation whose processes are started one by one, each of which a test may kill.

This is production's layout: a supervisor such as systemd keeps each process alive on its own.
The commands are those of `setwright serve`.
"""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import psycopg

from config.home import private_redis_socket
from config.private_redis import server_command, server_program
from config.serve import Plan, programs, redis_answers
from tests.live_stack import ROOT, clean_environment, free_port

TIME_LIMIT_S = 8
SETTINGS = "tests.faults.stack_settings"
GO = "go"
KEY = "only these processes sign with this key, 0123456789 0123456789"


@dataclass
class Plant:
    """An installation on SQLite, or on the database of `database_url`."""

    home: Path
    time_limit_s: int = TIME_LIMIT_S
    database_url: str = ""
    more: dict[str, str] = field(default_factory=dict)
    web_processes: int = 2
    port: int = field(default_factory=free_port)
    processes: dict[str, subprocess.Popen[bytes]] = field(default_factory=dict)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def environment(self) -> dict[str, str]:
        """Return what tells every process of the installation where it belongs."""
        own = {"TASK_TIME_LIMIT_S": str(self.time_limit_s), "DJANGO_SETTINGS_MODULE": SETTINGS}
        own |= {"PYTHONPATH": str(ROOT), "SECRET_KEY": KEY, "HTTPS_ONLY": "false"}
        own |= {"SETWRIGHT_READS_PHOTOS": "off", "SETWRIGHT_API_CALLS_PER_MINUTE": "1000000"}
        own |= {"SETWRIGHT_SITE_URL": self.url, "LOG_JSON": "false"}
        if self.database_url:
            own["DATABASE_URL"] = self.database_url
        return clean_environment(self.home, **own, **self.more)

    def run(self, *words: str, check: bool = True) -> str:
        """Run a module's command to its end and return what it printed."""
        done = subprocess.run(
            [sys.executable, "-m", *words], cwd=ROOT, env=self.environment(),
            check=False, timeout=900, capture_output=True, text=True,
        )  # fmt: skip
        assert not check or done.returncode == 0, f"{words}: {done.stdout}\n{done.stderr}"
        return done.stdout

    def prepare(self) -> None:
        """Make the tables and load the demo company with its stories."""
        self.home.mkdir(exist_ok=True)
        self.run("config", "migrate", "--verbosity", "0")
        self.run("config", "load_demo")

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

    def start_worker(
        self, app: str = "tests.faults.acts", *, name: str = "worker", processes: int = 1
    ) -> None:
        """Start a worker, of one process unless told, that knows the tests' own tasks too."""
        words = ["-m", "celery", "--app", app, "worker", "--concurrency", str(processes)]
        words += ["--loglevel", "INFO", "--without-mingle", "--hostname", f"{name}@%h"]
        (self.home / f"{name}.log").unlink(missing_ok=True)
        self.start(name, sys.executable, *words)

    def start_part(self, name: str) -> None:
        """Start the worker, relay, beat or web as `setwright serve` does."""
        plan = Plan("127.0.0.1", self.port, False, self.web_processes, 4, 2)
        (program,) = [one for one in programs(plan) if one.name == name]
        self.start(name, *program.command)

    def start_relay(self) -> None:
        self.start_part("relay")

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

    def freeze(self, name: str) -> None:
        """Let a process and its children stand still."""
        os.killpg(self.processes[name].pid, signal.SIGSTOP)

    def thaw(self, name: str) -> None:
        os.killpg(self.processes[name].pid, signal.SIGCONT)

    def heard(self, name: str, words: str) -> int:
        """Count the lines of a process's log that say so of one of the tests' own tasks."""
        return sum(words in line and "tests." in line for line in self.log(name).splitlines())

    def log(self, name: str) -> str:
        """Return all that a process has written."""
        return (self.home / f"{name}.log").read_text(errors="replace")

    def children(self, name: str) -> list[int]:
        """Return the process ids of a process's children."""
        pid = self.processes[name].pid
        text = Path(f"/proc/{pid}/task/{pid}/children").read_text()
        return [int(word) for word in text.split()]

    def begun(self) -> list[int]:
        """Return the process ids of those that began a task, in order."""
        path = self.home / "begun"
        return [int(line) for line in path.read_text().split()] if path.exists() else []

    def rows(self, sql: str) -> list[tuple[Any, ...]]:
        """Read the database from outside the service."""
        if self.database_url:
            with psycopg.connect(self.database_url) as connection:
                return connection.execute(sql.encode()).fetchall()
        with sqlite3.connect(f"file:{self.home}/setwright.sqlite3?mode=ro", uri=True) as connection:
            return connection.execute(sql).fetchall()

    def one(self, sql: str) -> Any:
        """Read one value from the database."""
        return self.rows(sql)[0][0]

    def let_go(self) -> None:
        """Let the slow tasks end at once from now on."""
        (self.home / GO).touch()

    def effects(self) -> int:
        return int(self.one("SELECT count(*) FROM intake_event WHERE kind = 'slow_effect'"))

    def done(self) -> bool:
        return not self.one("SELECT count(*) FROM intake_outboxmessage WHERE done_at IS NULL")

    def answers(self) -> bool:
        """Say whether the site answers at all."""
        try:
            with urllib.request.urlopen(f"{self.url}/health/live", timeout=2) as answer:
                return bool(answer.status == 200)
        except (urllib.error.URLError, OSError):
            return False

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
        """Return the end of every log."""
        files = sorted(self.home.glob("*.log"))
        return "\n".join(f"--- {p.name}\n{p.read_text(errors='replace')[-4000:]}" for p in files)

    def last_words(self, name: str) -> str:
        """Return how a process ended, and the end of its log."""
        return f"exit code {self.processes[name].returncode}\n{self.log(name)[-1500:]}"

    def end(self) -> None:
        for name in list(self.processes):
            self.kill(name)
