"""The installation's folder and the key it keeps."""

from __future__ import annotations

import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured

from config.home import (
    SOCKET_PATH_BYTES,
    home_path,
    private_redis_socket,
    private_redis_url,
    secret_key,
)


def test_the_home_is_named_by_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SETWRIGHT_HOME", "/srv/hire")
    assert home_path() == Path("/srv/hire")
    monkeypatch.delenv("SETWRIGHT_HOME")
    assert home_path() == Path.cwd() / ".setwright"


def test_an_embedded_installation_makes_its_key_once(tmp_path: Path) -> None:
    home = tmp_path / "home"
    first = secret_key(given="", home=home, embedded=True)
    assert len(first) >= 50
    assert secret_key(given="", home=home, embedded=True) == first
    assert stat.S_IMODE((home / "secret_key").stat().st_mode) == 0o600
    assert stat.S_IMODE(home.stat().st_mode) == 0o700


def test_processes_that_start_together_share_one_key(tmp_path: Path) -> None:
    with ThreadPoolExecutor(8) as pool:
        keys = pool.map(
            lambda _: secret_key(given="", home=tmp_path, embedded=True), range(32), timeout=30
        )
        assert len(set(keys)) == 1


def test_production_does_not_make_up_a_key(tmp_path: Path) -> None:
    with pytest.raises(ImproperlyConfigured, match="SECRET_KEY is not set"):
        secret_key(given="", home=tmp_path, embedded=False)
    assert secret_key(given="told", home=tmp_path, embedded=False) == "told"


def test_a_socket_lies_in_the_home_or_where_its_path_is_short_enough(tmp_path: Path) -> None:
    assert private_redis_socket(Path("/srv/hire")) == Path("/srv/hire/redis/redis.sock")
    deep = tmp_path / ("deep/" * 30)
    socket = private_redis_socket(deep)
    assert len(str(socket)) <= SOCKET_PATH_BYTES
    assert socket != private_redis_socket(deep / "other")
    assert private_redis_url(deep) == f"unix://{socket}"
