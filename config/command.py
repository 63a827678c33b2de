"""The `setwright` command.

`size` and `sources` are the engineering method alone: they never load Django.
`serve`, `demo` and `relay` run processes. Everything else is one of Django's commands.
"""

import os
import sys
from collections.abc import Callable, Sequence


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command named first in `argv` and return its exit code."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    own = OWN_COMMANDS.get(arguments[0]) if arguments else None
    return own(arguments[1:]) if own else django_command(arguments)


def size(argv: list[str]) -> int:
    from sizing.cli import size_main

    return size_main(argv)


def sources(argv: list[str]) -> int:
    from sizing.cli import sources_main

    return sources_main(argv)


def django_command(argv: list[str]) -> int:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(["setwright", *argv])
    return 0


OWN_COMMANDS: dict[str, Callable[[list[str]], int]] = {
    "size": size,
    "sources": sources,
}
