"""kombu's Redis transport, to which a closed connection is a lost one.

When the broker goes away, Celery closes the connection and makes another. If the end is first
noticed where remote control is listened to, kombu gives up closing halfway: the channel with the
tasks stays open on a transport that no longer knows its server. Closed a second time, or asked
to acknowledge a task, that channel looks for the server's address and fails with an
AttributeError, which Celery takes for a defect: the worker ends. Here it fails as it does when
the server is away, which Celery expects: it logs what could not be acknowledged and connects
again. The broker offers that task once more, when its visibility time-out is over.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from kombu.transport import redis as stock
from redis.exceptions import ConnectionError as ConnectionLost


class Channel(stock.Channel):
    """A channel that opens no pool once its connection is closed, and says so as a loss."""

    @property
    def pool(self) -> Any:
        with self.loss_when_closed():
            return super().pool

    @property
    def async_pool(self) -> Any:
        with self.loss_when_closed():
            return super().async_pool

    @contextmanager
    def loss_when_closed(self) -> Iterator[None]:
        """Raise ConnectionLost for what fails only because the connection is closed."""
        try:
            yield
        except AttributeError as trouble:
            if getattr(self.connection, "client", None):
                raise
            raise ConnectionLost("the channel's connection is closed") from trouble


class Transport(stock.Transport):
    """The stock transport with these channels."""

    Channel = Channel
