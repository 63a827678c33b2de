"""Which Redis over TLS the broker and the counters believe: one whose certificate is trusted.

RFC 9110, 4.3.4 says it of web servers, RFC 9525 of any service: the name asked for must stand in a
certificate that somebody trusted signed.
"""

from __future__ import annotations

import os
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from uuid import uuid4

import kombu
import pytest
import redis
import trustme
from kombu.exceptions import OperationalError

from config.broker import broker_url
from config.private_redis import SYSTEM_SERVERS
from config.redis_transport import Transport
from tests.conftest import lacking
from tests.live_stack import free_port

pytestmark = pytest.mark.redis
Start = Callable[[str], str]


@pytest.fixture(scope="module")
def authority() -> trustme.CA:
    return trustme.CA()


@pytest.fixture
def tls_server(authority: trustme.CA, tmp_path: Path) -> Iterator[Start]:
    """Return a function that starts a server with a certificate for a name; its address."""
    authority.cert_pem.write_to_path(tmp_path / "ca.pem")
    with ExitStack() as until_the_end:

        def start(name: str) -> str:
            proof = authority.issue_cert(name)
            proof.private_key_pem.write_to_path(tmp_path / "key.pem")
            proof.cert_chain_pems[0].write_to_path(tmp_path / "proof.pem")
            for program in filter(Path.is_file, programs()):
                port = free_port()
                words = [str(program), "--port", "0", "--tls-port", str(port), "--save", ""]
                words += ["--tls-auth-clients", "no", "--dir", str(tmp_path)]
                words += ["--tls-cert-file", "proof.pem", "--tls-key-file", "key.pem"]
                server = subprocess.Popen(words, stdout=subprocess.DEVNULL, cwd=tmp_path)
                until_the_end.callback(server.wait, 10)
                until_the_end.callback(server.terminate)
                if answers(port, server):
                    return f"rediss://localhost:{port}/0"
            return lacking("no redis-server or valkey-server that was built with TLS")

        yield start


def programs() -> list[Path]:
    """Where servers may lie; those that come in wheels know no TLS."""
    return [Path(folder) / name for folder in os.get_exec_path() for name in SYSTEM_SERVERS]


def answers(port: int, server: subprocess.Popen[bytes]) -> bool:
    """Wait until it answers, or has ended because it knows no TLS."""
    deadline = time.monotonic() + 20
    while server.poll() is None:
        try:
            redis.Redis(port=port, ssl=True, ssl_cert_reqs="none", ssl_check_hostname=False).ping()
            return True
        except redis.ConnectionError:
            assert time.monotonic() < deadline, f"{server.args!r} does not answer"
            time.sleep(0.05)
    return False


def sent(url: str) -> object:
    """Send a message through the broker and fetch it back."""
    with kombu.Connection(broker_url(url), transport_options={"max_retries": 0}) as connection:
        connection.transport_cls = Transport  # type: ignore[assignment]  # a class will do
        queue = connection.SimpleQueue(uuid4().hex)
        queue.put("a task")
        return queue.get(timeout=10).payload


def test_a_server_that_nobody_vouches_for_is_refused(tls_server: Start) -> None:
    url = tls_server("localhost")
    with pytest.raises(OperationalError, match="CERTIFICATE_VERIFY_FAILED"):
        sent(url)
    with pytest.raises(redis.ConnectionError, match="CERTIFICATE_VERIFY_FAILED"):
        redis.Redis.from_url(url).ping()


def test_a_certificate_of_another_host_is_refused(tls_server: Start, tmp_path: Path) -> None:
    url = f"{tls_server('redis.example.com')}?ssl_ca_certs={tmp_path}/ca.pem"
    with pytest.raises(OperationalError, match="localhost"):
        sent(url)


def test_a_trusted_one_for_the_name_is_taken(tls_server: Start, tmp_path: Path) -> None:
    url = f"{tls_server('localhost')}?ssl_ca_certs={tmp_path}/ca.pem"
    assert sent(url) == "a task"
    assert redis.Redis.from_url(url).ping()
