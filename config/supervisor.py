"""Several processes that run, and end, as one."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TextIO

POLL_S = 0.1


@dataclass(frozen=True)
class Program:
    """A process to run: its name in the output, its command, and how long it may take to end."""

    name: str
    command: list[str]
    grace_s: float = 10.0


class Died(Exception):
    """A process that should run has ended."""

    def __init__(self, name: str, code: int) -> None:
        self.name, self.code = name, code
        super().__init__(f"{name} ended {ending(code)}")


class Interrupted(Exception):
    """A person or the system asked for the end."""


def ending(code: int) -> str:
    """Say in words how a process ended."""
    if code < 0:
        return f"by signal {-code} ({signal.Signals(-code).name})"
    return f"with exit code {code}"


class Supervisor:
    """Runs programs, prefixes their output by their names, and stops them last to first."""

    def __init__(self, *, environment: Mapping[str, str], output: TextIO = sys.stdout) -> None:
        self.environment = dict(environment, PYTHONUNBUFFERED="1")
        self.output = output
        self.asked_to_stop = 0
        self.last_lines: dict[str, str] = {}
        self._running: list[tuple[Program, subprocess.Popen[str]]] = []
        self._pumps: list[threading.Thread] = []
        self._writing = threading.Lock()

    def heed_signals(self) -> None:
        """Take Ctrl-C, a terminal that closes and SIGTERM as the wish to stop."""
        for asked in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(asked, self._note_signal)

    def _note_signal(self, number: int, frame: object) -> None:
        self.asked_to_stop += 1

    def say(self, line: str, *, name: str = "setwright") -> None:
        """Write one whole line, whoever else is writing."""
        with self._writing:
            try:
                self.output.write(f"{name:>9} | {line.rstrip()}\n")
                self.output.flush()
            except (BrokenPipeError, ValueError):
                pass  # nobody reads on; that is no reason to stop serving

    def start(self, program: Program) -> subprocess.Popen[str]:
        """Start a program in a session of its own, so that a Ctrl-C reaches only us."""
        process = subprocess.Popen(  # noqa: S603 - the commands are our own
            [sys.executable, "-m", "config.tether", str(os.getpid()), *program.command],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            errors="replace",
            env=self.environment,
            start_new_session=True,
        )
        pump = threading.Thread(target=self._pump, args=(program.name, process), daemon=True)
        pump.start()
        self._pumps.append(pump)
        self._running.append((program, process))
        return process

    def _pump(self, name: str, process: subprocess.Popen[str]) -> None:
        if process.stdout is None:
            return
        for line in process.stdout:
            self.last_lines[name] = line.strip()
            self.say(line, name=name)

    def run_to_end(self, program: Program) -> None:
        """Run a program that ends by itself; raise Died unless it ends well."""
        process = self.start(program)
        self.wait_until(lambda: process.poll() is not None, watched=False)
        self._running.remove((program, process))
        if process.returncode:
            raise Died(program.name, process.returncode)

    def wait_until(
        self, condition: Callable[[], bool], *, timeout_s: float | None = None, watched: bool = True
    ) -> bool:
        """Wait for a condition; raise Died or Interrupted if that comes first."""
        started = time.monotonic()
        while not condition():
            if self.asked_to_stop:
                raise Interrupted
            if watched:
                self.all_alive()
            if timeout_s is not None and time.monotonic() - started > timeout_s:
                return False
            time.sleep(POLL_S)
        return True

    def all_alive(self) -> None:
        """Raise Died for the first program found dead."""
        for program, process in self._running:
            code = process.poll()
            if code is not None:
                raise Died(program.name, code)

    def run(self) -> None:
        """Watch over the programs until one dies or the end is asked for."""
        self.wait_until(lambda: False)

    def stop(self) -> None:
        """Stop what runs, last started first, each with its time to finish what it is at."""
        self.asked_to_stop = 0
        while self._running:
            program, process = self._running.pop()
            if process.poll() is None:
                self.say(f"stopping {program.name}")
            self._end(program, process)
        for pump in self._pumps:
            pump.join(timeout=1)

    def _end(self, program: Program, process: subprocess.Popen[str]) -> None:
        """Ask a program to end, and end its whole group when it does not."""
        process.terminate()
        deadline = time.monotonic() + program.grace_s
        while process.poll() is None and time.monotonic() < deadline and not self.asked_to_stop:
            time.sleep(POLL_S / 2)
        with contextlib.suppress(ProcessLookupError):  # where the whole group has ended
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()
