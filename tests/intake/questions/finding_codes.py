"""Codes of findings that the method can return, read from its source without running it."""

from __future__ import annotations

import ast
import csv
import re
from collections.abc import Iterator
from pathlib import Path

import sizing

SIZING = Path(sizing.__file__).parent
CODE = re.compile(r"[a-z]+(_[a-z]+)*")
RAISERS = {"Finding", "Unknown", "_note", "doubt", "_caution"}  # a code is their first argument
BY_FUNCTION = {"_conflict"}  # gives a code with its question
REFUSALS_NEVER_FINDINGS = {"document_refused", "quantity_refused"}  # raised before a run begins


def finding_codes() -> set[str]:
    """Every code: first arguments, codes kept in tables and mappings, codes of refusals."""
    found: set[str] = set()
    for path in sorted(SIZING.glob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        found |= set(_raised(tree)) | set(_refused(tree)) | set(_mapped(tree))
    return (found | _flags() | _table("site_cautions")) - REFUSALS_NEVER_FINDINGS


def _raised(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and _name(node.func) in RAISERS and node.args:
            yield from _words(node.args[0], tree)
        if isinstance(node, ast.FunctionDef) and node.name in BY_FUNCTION:
            for back in ast.walk(node):
                if isinstance(back, ast.Return) and isinstance(back.value, ast.Tuple):
                    yield from _words(back.value.elts[0], tree)


def _name(called: ast.expr) -> str:
    return called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")


def _words(argument: ast.expr, tree: ast.AST) -> Iterator[str]:
    """Texts an argument may be: itself, either arm of a choice, what a name is set to."""
    for node in ast.walk(argument):
        if isinstance(node, ast.Constant) and CODE.fullmatch(str(node.value)):
            yield str(node.value)
        elif isinstance(node, ast.Name):
            for other in ast.walk(tree):
                if isinstance(other, ast.Assign) and _sets(other, node.id):
                    yield from _texts(other.value)


def _sets(assignment: ast.Assign, name: str) -> bool:
    return any(isinstance(one, ast.Name) and one.id == name for one in assignment.targets)


def _texts(value: ast.expr) -> Iterator[str]:
    for node in ast.walk(value):
        if isinstance(node, ast.Constant) and CODE.fullmatch(str(node.value)):
            yield str(node.value)


def _refused(tree: ast.AST) -> Iterator[str]:
    """Codes of refusals: a run that cannot go on gives one as its finding."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef):
            for line in node.body:
                if isinstance(line, ast.Assign) and _sets(line, "code"):
                    yield from _texts(line.value)


def _mapped(tree: ast.AST) -> Iterator[str]:
    """First text of every tuple in a mapping of codes with their questions."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Dict):
            for value in node.values:
                if isinstance(value, ast.Tuple) and _asks(value):
                    yield from _texts(value.elts[0])


def _asks(row: ast.Tuple) -> bool:
    last = row.elts[-1] if row.elts else None
    return isinstance(last, ast.Constant) and str(last.value).endswith("?")


def _flags() -> set[str]:
    """What a load leaves open, named after the question: ``float_switch_unsure``."""
    tree = ast.parse((SIZING / "unknowns.py").read_text(encoding="utf-8"))
    calls = (node for node in ast.walk(tree) if isinstance(node, ast.Call))
    return {
        f"{node.args[1].value}_unsure"
        for node in calls
        if _name(node.func) == "_flag_unknown" and isinstance(node.args[1], ast.Constant)
    }


def _table(name: str) -> set[str]:
    with (SIZING / "tables" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return {row["code"] for row in csv.DictReader(file)}
