"""A mail server that keeps what it was given, and can be down."""

from __future__ import annotations

import logging
import threading
from email import message_from_bytes
from email.policy import default
from typing import Any

from aiosmtpd.controller import Controller

from tests.live_stack import free_port

logging.getLogger("mail.log").setLevel(logging.WARNING)


class Keeper:
    """Notes the recipient, the subject and the Message-ID of every letter it accepts."""

    def __init__(self) -> None:
        self.letters: list[tuple[str, str, str]] = []
        self.lock = threading.Lock()

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        letter = message_from_bytes(envelope.content, policy=default)
        note = (envelope.rcpt_tos[0], str(letter["Subject"]), str(letter["Message-ID"]))
        with self.lock:
            self.letters.append(note)
        return "250 kept"


class Sink:
    """The mail server, on one port for all its life."""

    def __init__(self) -> None:
        self.keeper = Keeper()
        self.port = free_port()
        self.controller: Controller | None = None

    @property
    def url(self) -> str:
        return f"smtp://127.0.0.1:{self.port}"

    def start(self) -> Sink:
        self.controller = Controller(self.keeper, hostname="127.0.0.1", port=self.port)
        self.controller.start()
        return self

    def stop(self) -> None:
        if self.controller is not None:
            self.controller.stop()
            self.controller = None

    def copies(self) -> dict[str, int]:
        """Return how many times each Message-ID arrived."""
        with self.keeper.lock:
            ids = [message_id for _to, _subject, message_id in self.keeper.letters]
        return {one: ids.count(one) for one in set(ids)}
