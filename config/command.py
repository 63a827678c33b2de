"""The `setwright` command.

`size` and `sources` are the engineering method alone: they never load Django. `serve`, `demo`
and `relay` run processes. Everything else is one of Django's commands.
"""

from __future__ import annotations

import importlib
import os
import sys
from collections.abc import Sequence

OWN_COMMANDS = {
    "size": "sizing.cli:size_main",
    "sources": "sizing.cli:sources_main",
    "serve": "config.serve:serve",
    "demo": "config.serve:demo",
    "relay": "config.relay_process:relay",
}


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command named first in `argv` and return its exit code."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    where = OWN_COMMANDS.get(arguments[0]) if arguments else None
    return own_command(where, arguments[1:]) if where else django_command(arguments)


def own_command(where: str, argv: list[str]) -> int:
    """Load the one command asked for, and nothing else."""
    module, _, function = where.partition(":")
    return int(getattr(importlib.import_module(module), function)(argv))


def django_command(argv: list[str]) -> int:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(["setwright", *argv])
    return 0
