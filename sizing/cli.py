"""The command line of the sizing method: ``size`` and ``sources``, without a database."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NoReturn, TextIO

from sizing.errors import DocumentRefused, Problem
from sizing.fleet import GeneratorSet, read_fleet
from sizing.recommend import recommend
from sizing.requirement import read_requirement
from sizing.sheet import sheet
from sizing.sources import report

REFUSED = 2


class _Parser(argparse.ArgumentParser):
    """A parser that refuses in one line."""

    def error(self, message: str) -> NoReturn:
        raise DocumentRefused(
            [Problem("command line", "usage", f"{message}; {self.format_usage().strip()}")]
        )


def size_main(argv: Sequence[str] | None = None) -> int:
    """Read a requirement, print its result: 0 for any outcome, 2 for a document refused.

    Parameters
    ----------
    argv : sequence of str, optional
        Arguments after the command's name; the process's own where left out [-]

    Returns
    -------
    int
        Exit status: 0 or 2 [-]

    Raises
    ------
    TableRefused
        A published table of the method is damaged.
    """
    try:
        asked = _size_parser().parse_args(argv)
        fleet = _fleet(asked.fleet)
        document = recommend(read_requirement(_read_json(asked.file)), fleet).document()
    except DocumentRefused as refusal:
        return _refuse(refusal)
    _print(sheet(document) if asked.sheet else json.dumps(document, indent=2) + "\n")
    return 0


def sources_main(argv: Sequence[str] | None = None) -> int:
    """Print where every table of the method comes from.

    Parameters
    ----------
    argv : sequence of str, optional
        No arguments are taken [-]

    Returns
    -------
    int
        Exit status: 0 or 2 [-]

    Raises
    ------
    TableRefused
        A published table of the method is damaged.
    """
    try:
        _Parser(
            prog="setwright sources", description="Print the source of every table."
        ).parse_args(argv)
    except DocumentRefused as refusal:
        return _refuse(refusal)
    _print(report())
    return 0


def main(argv: Sequence[str] | None = None) -> int:
    """Dispatch ``size`` and ``sources`` for ``python -m sizing.cli``.

    Parameters
    ----------
    argv : sequence of str, optional
        The command and its arguments [-]

    Returns
    -------
    int
        Exit status: 0 or 2 [-]

    Raises
    ------
    TableRefused
        A published table of the method is damaged.
    """
    given = list(sys.argv[1:] if argv is None else argv)
    commands = {"size": size_main, "sources": sources_main}
    if not given or given[0] not in commands:
        sys.stderr.write("command line: say size FILE or sources\n")
        return REFUSED
    return commands[given[0]](given[1:])


def _size_parser() -> _Parser:
    parser = _Parser(prog="setwright size", description="Size a set for a requirement.")
    parser.add_argument("file", help="requirement as JSON; - reads standard input")
    parser.add_argument("--fleet", help="fleet as CSV; the demo fleet where left out")
    parser.add_argument("--sheet", action="store_true", help="print the worked sheet as text")
    return parser


def _fleet(path: str | None) -> tuple[GeneratorSet, ...]:
    if path is not None:
        return read_fleet(Path(path))
    from demo_fixtures import fleet_path

    return read_fleet(fleet_path())


def _read_json(name: str) -> Any:
    """Document of a file, or of standard input for ``-``; numbers must be finite."""
    try:
        text = sys.stdin.read() if name == "-" else Path(name).read_text(encoding="utf-8-sig")
        document = json.loads(text, parse_constant=_no_constant)
    except OSError as error:
        raise _refused(f"cannot read {name}: {error.strerror}") from error
    except UnicodeDecodeError as error:
        raise _refused(f"cannot read {name}: it is not UTF-8 text") from error
    except RecursionError as error:
        raise _refused("the JSON is nested too deep") from error
    except ValueError as error:
        raise _refused(f"not JSON: {error}") from error
    if not isinstance(document, dict):
        raise _refused("must be an object with application, supply, site, hire and loads")
    return document


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def _refused(message: str) -> DocumentRefused:
    return DocumentRefused([Problem("document", "document_unreadable", message)])


def _refuse(refusal: DocumentRefused) -> int:
    """One line a problem: path, then what to do."""
    for problem in refusal.problems:
        sys.stderr.write(f"{problem.path}: {' '.join(problem.message.split())}\n")
    return REFUSED


def _print(text: str, out: TextIO | None = None) -> None:
    """Write to standard output; a reader that has gone away is no error."""
    try:
        (out or sys.stdout).write(text)
    except BrokenPipeError:
        sys.stderr.close()


if __name__ == "__main__":
    sys.exit(main())
