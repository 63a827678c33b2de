"""A receiver of webhooks: a real server on this machine that keeps what it got."""

from __future__ import annotations

import ssl
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import pytest
from django.contrib.auth.models import User

from intake.models import WebhookEndpoint
from intake.webhooks.endpoints import endpoint_make
from tests.intake.desk.cast import NOW


@dataclass
class Receiver:
    """What came in, and what to answer next."""

    port: int = 0
    answer: int = 204
    slow_s: float = 0
    headers: dict[str, str] = field(default_factory=dict)
    got: list[tuple[dict[str, str], bytes]] = field(default_factory=list)
    secret: str = ""
    endpoint: Any = None

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}/hooks?from=hire"


@pytest.fixture
def receiver() -> Iterator[Receiver]:
    yield from received(Receiver())


def received(seen: Receiver, tls: ssl.SSLContext | None = None) -> Iterator[Receiver]:
    """A server that keeps what it got for as long as the generator is held."""

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            seen.got.append(({**dict(self.headers), "path": self.path}, body))
            time.sleep(seen.slow_s)
            self.send_response(seen.answer)
            for name, value in seen.headers.items():
                self.send_header(name, value)
            self.end_headers()

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    seen.port = server.server_address[1]
    if tls is not None:
        server.socket = tls.wrap_socket(server.socket, server_side=True)
    threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True).start()
    yield seen
    server.shutdown()
    server.server_close()


@pytest.fixture
def manager(db: None) -> User:
    from tests.intake.desk.cast import person

    return person("mia", "manager")


@pytest.fixture
def listening(receiver: Receiver, manager: User) -> Receiver:
    """The receiver, told of everything about cases."""
    receiver.endpoint, receiver.secret = endpoint_make(
        name="dispatch board", url=receiver.url, kinds=["case.opened", "case.closed"],
        actor=manager, now=NOW,
    )  # fmt: skip
    assert WebhookEndpoint.objects.get() == receiver.endpoint
    return receiver
