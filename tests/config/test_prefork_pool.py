"""A worker connects again whether or not it still watches each of its children."""

from __future__ import annotations

import os
from collections.abc import Iterator
from types import SimpleNamespace

import pytest
from celery import concurrency
from celery.concurrency.asynpool import AsynPool
from celery.fixups.django import DjangoWorkerFixup
from kombu.asynchronous import Hub

from config.celery import app
from config.prefork_pool import ForgivingPool, TaskPool


@pytest.fixture
def loop() -> Iterator[Hub]:
    made = Hub()
    yield made
    made.close()


def track(pool: type[AsynPool], watched: int | None, loop: Hub) -> None:
    """Have a pool watch a child by this descriptor: None where it lost sight of it."""
    pool._track_child_process(pool.__new__(pool), SimpleNamespace(_sentinel_poll=watched), loop)


def test_the_worker_runs_its_children_in_this_pool() -> None:
    assert concurrency.get_implementation(app.conf.worker_pool) is TaskPool
    assert TaskPool.Pool is ForgivingPool


def test_celery_takes_it_for_a_pool_of_processes() -> None:
    """Else children would share the parent's connections to the database."""
    fixup = DjangoWorkerFixup(app)
    fixup.worker = SimpleNamespace(pool_cls=TaskPool)
    assert fixup._is_prefork()


def test_a_child_is_watched(loop: Hub) -> None:
    end, other_end = os.pipe()
    track(ForgivingPool, end, loop)
    assert list(loop.readers) == [end]
    os.close(end)
    os.close(other_end)


def test_a_child_out_of_sight_is_passed_over(loop: Hub) -> None:
    track(ForgivingPool, None, loop)
    assert not loop.readers


def test_the_stock_pool_still_needs_this(loop: Hub) -> None:
    """When this fails, kombu and Celery agree again, and `config.prefork_pool` can go."""
    with pytest.raises(ValueError, match="None"):
        track(AsynPool, None, loop)
