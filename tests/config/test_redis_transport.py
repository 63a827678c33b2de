"""A broker's connection that is closed is a lost one to Celery, and no defect."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from uuid import uuid4

import kombu
import pytest
from kombu.transport import redis as stock
from redis.exceptions import ConnectionError as ConnectionLost

from config.broker import broker_url
from config.celery import app
from config.redis_transport import Transport

Take = Callable[[type[stock.Transport]], kombu.Message]


@pytest.fixture
def take(redis_url: str) -> Iterator[Take]:
    """Return a function that takes a message off the broker, not acknowledged yet."""
    with ExitStack() as open_until_the_end:

        def taken(transport: type[stock.Transport]) -> kombu.Message:
            connection = open_until_the_end.enter_context(kombu.Connection(broker_url(redis_url)))
            connection.transport_cls = transport
            queue = connection.SimpleQueue(uuid4().hex)
            queue.put("a task")
            return queue.get(timeout=10)

        yield taken


def abandon(message: kombu.Message) -> None:
    """Leave the message's channel open, its server forgotten, as a close that failed does."""
    message.channel.connection.client = None


@pytest.mark.parametrize("url", ["unix:///srv/redis.sock", "redis://db:6379/0", "rediss://db/0"])
def test_tasks_travel_by_this_transport_whatever_the_address(url: str) -> None:
    assert app.connection_for_read(broker_url(url)).get_transport_cls() is Transport


@pytest.mark.redis
def test_an_abandoned_channel_closes_with_an_error_that_celery_expects(take: Take) -> None:
    message = take(Transport)
    abandon(message)
    with pytest.raises(Transport.connection_errors):
        message.channel.close()
    assert message.channel.closed


@pytest.mark.redis
@pytest.mark.parametrize("answer", ["ack", "reject", "requeue"])
def test_nothing_is_answered_on_a_closed_channel(take: Take, answer: str) -> None:
    message = take(Transport)
    abandon(message)
    with pytest.raises(ConnectionLost):
        message.channel.close()
    with pytest.raises(ConnectionLost):
        getattr(message, answer)()
    assert not message.acknowledged


@pytest.mark.redis
def test_a_worker_only_logs_that_it_cannot_acknowledge(
    take: Take, caplog: pytest.LogCaptureFixture
) -> None:
    message = take(Transport)
    abandon(message)
    with pytest.raises(ConnectionLost):
        message.channel.close()
    message.ack_log_error(logging.getLogger("worker"), Transport.connection_errors)
    assert "Couldn't ack" in caplog.text


@pytest.mark.redis
def test_a_defect_on_an_open_channel_stays_a_defect(take: Take) -> None:
    channel = take(Transport).channel
    with pytest.raises(AttributeError), channel.loss_when_closed():
        raise AttributeError("a misspelt name")


@pytest.mark.redis
def test_the_stock_transport_still_needs_this(take: Take) -> None:
    """When this fails, kombu has mended it, and `config.redis_transport` can go."""
    message = take(stock.Transport)
    abandon(message)
    with pytest.raises(AttributeError):
        message.channel.close()
