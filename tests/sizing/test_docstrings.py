"""Docstrings of the method: parsed as numpydoc, a unit in brackets behind every figure."""

from __future__ import annotations

import doctest
import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable
from types import ModuleType
from typing import Any

import pytest
from numpydoc.docscrape import FunctionDoc

import sizing

UNIT = re.compile(r"\[[^\[\]]+\]")
CHAPTERS = {
    "nameplate", "supply", "starting", "sequence", "dip", "frequency", "site_rating", "selection",
    "phases", "duty", "fuel", "leads", "connection", "around", "unsure", "evaluation",
    "accessories", "combinations", "recommend", "result", "sheet", "sources", "fleet", "cli",
}  # fmt: skip
PROJECT = {  # what a command or a border returns or takes is no quantity
    "sizing.cli",
    "sizing.reading",
}


def modules() -> list[ModuleType]:
    found = pkgutil.iter_modules(sizing.__path__, "sizing.")
    return [importlib.import_module(one.name) for one in found]


def public_functions() -> list[tuple[str, Callable[..., Any]]]:
    """Public functions where they are defined, as (dotted name, function)."""
    return [
        (f"{module.__name__}.{name}", function)
        for module in modules()
        for name, function in vars(module).items()
        if not name.startswith("_")
        and inspect.isfunction(inspect.unwrap(function))
        and inspect.unwrap(function).__module__ == module.__name__
    ]


FUNCTIONS = public_functions()
IDS = [name for name, _ in FUNCTIONS]


def doc_of(function: Callable[..., Any]) -> FunctionDoc:
    return FunctionDoc(inspect.unwrap(function))


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.__name__)
def test_every_module_says_what_it_is(module: ModuleType) -> None:
    assert module.__doc__
    assert module.__doc__.strip().endswith(".")


@pytest.mark.parametrize(("name", "function"), FUNCTIONS, ids=IDS)
def test_every_public_function_says_what_it_raises(name: str, function: Callable[..., Any]) -> None:
    doc = doc_of(function)
    assert doc["Summary"], name
    if name.split(".")[1] in CHAPTERS or doc["Parameters"]:
        assert doc["Raises"], f"{name} has no Raises section"


@pytest.mark.parametrize(("name", "function"), FUNCTIONS, ids=IDS)
def test_parameters_are_those_of_the_signature(name: str, function: Callable[..., Any]) -> None:
    documented = [
        part.strip(" *") for one in doc_of(function)["Parameters"] for part in one.name.split(",")
    ]
    if documented:
        assert sorted(documented) == sorted(inspect.signature(function).parameters), name


@pytest.mark.parametrize(("name", "function"), FUNCTIONS, ids=IDS)
def test_every_figure_has_its_unit_in_brackets(name: str, function: Callable[..., Any]) -> None:
    if name.rpartition(".")[0] in PROJECT:
        return
    doc = doc_of(function)
    for one in (*doc["Parameters"], *doc["Returns"], *doc["Yields"]):
        if "float" in one.type or "float" in one.name:
            assert UNIT.search(" ".join(one.desc)), f"{name}: {one.name or one.type} has no unit"


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.__name__)
def test_every_example_gives_what_is_printed(module: ModuleType) -> None:
    assert doctest.testmod(module).failed == 0


def test_there_are_examples_to_run() -> None:
    found = [one for module in modules() for one in doctest.DocTestFinder().find(module)]
    assert sum(len(one.examples) for one in found) >= 40
