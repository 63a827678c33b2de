"""The whole service by one command."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from config.serve import (
    AlreadyServed,
    CannotServe,
    Plan,
    home_claimed,
    plan_of,
    port_check,
    reads_photos,
)
from tests.live_stack import Stack, free_port


@pytest.fixture
def taken() -> Iterator[int]:
    """A port that something listens on."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen()
        yield listener.getsockname()[1]


def test_a_taken_port_gets_one_clear_line(taken: int) -> None:
    with pytest.raises(CannotServe, match=rf"port {taken}: Address already in use.*--port"):
        port_check("127.0.0.1", taken)
    port_check("127.0.0.1", free_port())


def test_a_folder_is_served_once(tmp_path: Path) -> None:
    second = home_claimed(tmp_path, url="http://127.0.0.1:9000")
    refused = pytest.raises(AlreadyServed, match=r"already running at http://127\.0\.0\.1:8000")
    with home_claimed(tmp_path, url="http://127.0.0.1:8000"), refused:
        second.__enter__()
    with home_claimed(tmp_path, url="http://127.0.0.1:9000"):
        assert json.loads((tmp_path / "serving.json").read_text())["pid"] == os.getpid()


@pytest.mark.parametrize(
    ("host", "url"),
    [
        ("127.0.0.1", "http://127.0.0.1:8000"),
        ("0.0.0.0", "http://127.0.0.1:8000"),
        ("::1", "http://[::1]:8000"),
    ],
)
def test_the_address_shown_can_be_opened(host: str, url: str) -> None:
    assert plan_of(["--host", host, "--port", "8000"], command="serve", demo=False).url == url


def test_the_demo_is_a_way_of_serving() -> None:
    assert plan_of(["--demo"], command="serve", demo=False) == plan_of(
        [], command="demo", demo=True
    )
    assert isinstance(plan_of([], command="serve", demo=False), Plan)


@pytest.mark.redis
def test_the_running_demo_answers_and_does_its_work(live_stack: Stack) -> None:
    assert live_stack.get("/health/ready") == (200, '{"status": "ok", "database": "ok"}')
    live_stack.wait_for(lambda: live_stack.get("/health/work")[0] == 200, 60)
    assert "this is a demo" in live_stack.log
    assert "setwright | Demo sign-ins: " in live_stack.log


@pytest.mark.redis
def test_a_second_demo_on_the_same_folder_says_so_and_harms_nothing(live_stack: Stack) -> None:
    again = live_stack.run("demo", "--port", str(live_stack.port))
    assert again.returncode == 0
    assert "already running at" in again.stderr
    elsewhere = live_stack.run("demo", "--port", str(free_port()))
    assert elsewhere.returncode == 2
    assert live_stack.get("/health/ready")[0] == 200


@pytest.mark.redis
def test_a_demo_on_a_taken_port_exits_with_2(live_stack: Stack, tmp_path: Path) -> None:
    other = Stack(home=tmp_path / "home")
    refused = other.run("demo", "--port", str(live_stack.port))
    assert refused.returncode == 2
    assert len(refused.stderr.strip().splitlines()) == 1


def started(stack: Stack) -> dict[str, int]:
    """Return the processes of a service by name, as it told them."""
    return {name: int(pid) for name, pid in re.findall(r"started (\w+), process (\d+)", stack.log)}


def lives(running: dict[str, int]) -> bool:
    return any(Path(f"/proc/{pid}").exists() for pid in running.values())


@pytest.mark.redis
@pytest.mark.faults
@pytest.mark.skipif(sys.platform != "linux", reason="only Linux ends children with their parent")
def test_a_death_of_one_or_of_the_supervisor_ends_all_and_the_same_command_starts_them_again(
    make_stack: Callable[..., Stack],
) -> None:
    stack = make_stack()
    assert stack.process is not None
    first = started(stack)
    photos = {"photos"} if reads_photos() else set()
    assert set(first) == {"redis", "worker", "relay", "beat", "web"} | photos
    os.kill(first["worker"], signal.SIGKILL)
    assert stack.process.wait(60) == 1
    assert "worker ended by signal 9 (SIGKILL): stopping everything else" in stack.log
    assert not lives(first)
    stack.start()
    assert stack.get("/health/ready")[0] == 200
    second = started(stack)
    stack.process.kill()
    stack.process.wait()
    Stack(home=stack.home).wait_for(lambda: not lives(second), 45)


@pytest.mark.redis
@pytest.mark.postgres
@pytest.mark.faults
def test_it_serves_on_postgresql_under_its_own_name(
    make_stack: Callable[..., Stack], postgres_url: str
) -> None:
    stack = make_stack(
        DATABASE_URL=postgres_url,
        SECRET_KEY="a key that is long enough, 0123456789 0123456789 0123456789",
        ALLOWED_HOSTS="hire.example.com,127.0.0.1",
    )
    assert stack.get("/health/ready")[0] == 200
    stack.wait_for(lambda: stack.get("/health/work")[0] == 200, 60)
    assert not (stack.home / "setwright.sqlite3").exists()
    assert (stack.home / "static" / "staticfiles.json").exists()
    assert stack.stop() == 0
