"""One moment of the database, to compare rows with each other while everybody works on."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction


@contextmanager
def snapshot() -> Iterator[None]:
    """Read everything inside as it was at one moment, and hold nobody up.

    PostgreSQL shows each query its own moment unless the transaction asks for one; SQLite's
    transactions are IMMEDIATE here and would lock every writer out, so a plain one is begun.
    Inside a transaction of the caller's own, that one decides.
    """
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "postgresql":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
    else:
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")
