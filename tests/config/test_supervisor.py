"""Several processes that run, and end, as one."""

from __future__ import annotations

import io
import os
import sys
import time
from collections.abc import Iterator

import pytest

from config.supervisor import Died, Interrupted, Program, Supervisor, ending

FOREVER = "import time; time.sleep(600)"
STUBBORN = (
    "import signal, time; signal.signal(signal.SIGTERM, signal.SIG_IGN); "
    "print('up', flush=True); time.sleep(600)"
)
WITH_CHILD = (
    "import subprocess, sys, time; "
    "p = subprocess.Popen([sys.executable, '-c', 'import time; time.sleep(600)']); "
    "print('child', p.pid, flush=True); time.sleep(600)"
)


def python(name: str, code: str, grace_s: float = 5) -> Program:
    return Program(name, [sys.executable, "-c", code], grace_s=grace_s)


@pytest.fixture
def output() -> io.StringIO:
    return io.StringIO()


@pytest.fixture
def supervisor(output: io.StringIO) -> Iterator[Supervisor]:
    made = Supervisor(environment=os.environ, output=output)
    yield made
    made.stop()


def alive(pid: int) -> bool:
    try:
        with open(f"/proc/{pid}/stat") as stat:
            return stat.read().split()[2] != "Z"
    except FileNotFoundError:
        return False


def test_each_line_carries_the_name_of_its_program(
    supervisor: Supervisor, output: io.StringIO
) -> None:
    supervisor.run_to_end(python("one", "print('hello'); print('again')"))
    supervisor.stop()
    lines = output.getvalue().splitlines()
    assert lines == ["      one | hello", "      one | again"]


def test_a_program_that_must_end_well_and_does_not_is_told(supervisor: Supervisor) -> None:
    with pytest.raises(Died, match="migrate ended with exit code 3"):
        supervisor.run_to_end(python("migrate", "raise SystemExit(3)"))


def test_one_death_is_noticed(supervisor: Supervisor) -> None:
    supervisor.start(python("web", FOREVER))
    worker = supervisor.start(python("worker", FOREVER))
    worker.kill()
    with pytest.raises(Died, match=r"worker ended by signal 9 \(SIGKILL\)"):
        supervisor.run()


def test_stopping_goes_from_the_last_started_to_the_first(
    supervisor: Supervisor, output: io.StringIO
) -> None:
    for name in ("redis", "worker", "web"):
        supervisor.start(python(name, FOREVER))
    supervisor.stop()
    said = [line.split("| ")[1] for line in output.getvalue().splitlines()]
    assert said == ["stopping web", "stopping worker", "stopping redis"]


def test_a_program_that_does_not_stop_is_made_to(
    supervisor: Supervisor, output: io.StringIO
) -> None:
    process = supervisor.start(python("stubborn", STUBBORN, grace_s=0.5))
    assert supervisor.wait_until(lambda: "up" in output.getvalue(), timeout_s=20)
    supervisor.stop()
    assert process.returncode == -9


def test_no_child_of_a_program_is_left_behind(supervisor: Supervisor, output: io.StringIO) -> None:
    supervisor.start(python("parent", WITH_CHILD))
    assert supervisor.wait_until(lambda: "child" in output.getvalue(), timeout_s=20)
    child = int(output.getvalue().split()[-1])
    assert alive(child)
    supervisor.stop()
    assert supervisor.wait_until(lambda: not alive(child), timeout_s=10)


def test_the_wish_to_stop_ends_the_watch(supervisor: Supervisor) -> None:
    supervisor.start(python("web", FOREVER))
    supervisor.asked_to_stop = 1
    with pytest.raises(Interrupted):
        supervisor.run()


def test_waiting_has_an_end(supervisor: Supervisor) -> None:
    started = time.monotonic()
    assert supervisor.wait_until(lambda: False, timeout_s=0.3) is False
    assert time.monotonic() - started < 10


def test_output_that_nobody_reads_stops_nothing(supervisor: Supervisor) -> None:
    supervisor.output.close()
    supervisor.say("into the void")


@pytest.mark.parametrize(
    ("code", "words"),
    [(0, "with exit code 0"), (2, "with exit code 2"), (-15, "by signal 15 (SIGTERM)")],
)
def test_an_end_in_words(code: int, words: str) -> None:
    assert ending(code) == words
