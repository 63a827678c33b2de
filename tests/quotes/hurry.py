"""Many customers at once, each in a thread with a connection of its own."""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

from django.db import connection, connections

CONNECTIONS = 52


def all_at_once(acts: Sequence[Callable[[], str]]) -> Counter[str]:
    """Run every act at the same moment; count what they say, or the class of what they raise."""
    gate, said, lock = threading.Barrier(len(acts)), Counter[str](), threading.Lock()

    def run(act: Callable[[], str]) -> None:
        gate.wait(60)
        try:
            word = act()
        except Exception as error:  # counted by the test, which expects certain classes only
            word = type(error).__name__
        finally:
            connections.close_all()
        with lock:
            said[word] += 1

    threads = [threading.Thread(target=run, args=(act,)) for act in acts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(180)
    return said


@contextmanager
def room_for_all() -> Iterator[None]:
    """Let every thread have its own connection at once, where a pool would make them queue."""
    pool = connections.settings["default"].get("OPTIONS", {}).get("pool")
    if not pool:
        yield
        return
    before = dict(pool)
    connection.close()
    connection.close_pool()  # type: ignore[attr-defined]
    pool.update(max_size=CONNECTIONS, timeout=60)
    try:
        yield
    finally:
        connection.close()
        connection.close_pool()  # type: ignore[attr-defined]
        pool.update(before)
