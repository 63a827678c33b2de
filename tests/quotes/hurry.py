"""Many customers at once, each in a thread with a connection of its own."""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Callable, Sequence

from django.db import connection, connections


def all_at_once(acts: Sequence[Callable[[], str]]) -> Counter[str]:
    """Run every act at the same moment; count what they say, or the class of what they raise."""
    gate, said, lock = threading.Barrier(len(acts)), Counter[str](), threading.Lock()

    def run(act: Callable[[], str]) -> None:
        connection.ensure_connection()
        gate.wait(120)
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
