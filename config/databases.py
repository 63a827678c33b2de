"""The one database of an installation, as Django's settings want it."""

from typing import Any

SQLITE_WAIT_S = 20
SQLITE_KEPT_S = 60  # opening costs as much as ten queries; a file put in its place is soon seen
POOL_WAIT_S = 10


def database(parsed: dict[str, Any], *, pool_size: int) -> dict[str, Any]:
    """Add to a parsed DATABASE_URL what its engine needs to be safe under load."""
    if parsed["ENGINE"].endswith("sqlite3"):
        return sqlite(parsed)
    if parsed["ENGINE"].endswith("postgresql"):
        return postgresql(parsed, pool_size=pool_size)
    raise ValueError(f"DATABASE_URL: {parsed['ENGINE']} is neither SQLite nor PostgreSQL")


def sqlite(parsed: dict[str, Any]) -> dict[str, Any]:
    """SQLite with readers that never block the writer, and writers that queue.

    A transaction that starts as a reader and then writes fails at once with "database is
    locked", whatever the timeout; IMMEDIATE makes it wait for its turn from the start.
    """
    return {
        **parsed,
        "CONN_MAX_AGE": SQLITE_KEPT_S,
        "OPTIONS": {
            "timeout": SQLITE_WAIT_S,
            "transaction_mode": "IMMEDIATE",
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL",
        },
    }


def postgresql(parsed: dict[str, Any], *, pool_size: int) -> dict[str, Any]:
    """PostgreSQL through psycopg's pool: a new connection costs more than a page's queries."""
    if not pool_size:
        return behind_a_pooler(parsed)
    pool = {"min_size": 1, "max_size": pool_size, "timeout": POOL_WAIT_S}
    return {
        **parsed,
        "CONN_MAX_AGE": 0,  # Django refuses both a pool and kept connections
        "CONN_HEALTH_CHECKS": True,
        "OPTIONS": {**parsed.get("OPTIONS", {}), "pool": pool},
    }


def behind_a_pooler(parsed: dict[str, Any]) -> dict[str, Any]:
    """PostgreSQL through a pooler that hands out connections a transaction at a time.

    Nothing may be left in a connection for the next transaction: no prepared statement, no cursor.
    """
    return {
        **parsed,
        "CONN_MAX_AGE": 0,
        "DISABLE_SERVER_SIDE_CURSORS": True,
        "OPTIONS": {**parsed.get("OPTIONS", {}), "prepare_threshold": None},
    }
