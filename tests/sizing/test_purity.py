"""The method stays pure: no web framework, no clock, no network; and it comes up fast."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

import sizing

FOLDER = Path(sizing.__file__).parent
MODULES = sorted(FOLDER.rglob("*.py"))
BARRED = {"django", "rest_framework", "celery", "redis", "psycopg", "config", "intake", "quotes"}
NETWORK = {"socket", "ssl", "http", "urllib", "requests", "asyncio"}
SLOW = ("pint", "zipcodes", "astral", "numpy", "pandas")

WITHOUT_DJANGO = """
import sys
class Barred:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in {"django", "rest_framework", "celery", "redis", "psycopg"}:
            raise ImportError(name + " must not be needed")
sys.meta_path.insert(0, Barred())
from demo_fixtures import fleet_path, story
from sizing import read_fleet, read_requirement, recommend, sheet
found = recommend(read_requirement(story("dewatering")), read_fleet(fleet_path()))
assert sheet(found.document())
print(found.outcome)
"""

IMPORT_ALONE = """
import sys, time
begin = time.perf_counter()
import sizing
print(round(1000 * (time.perf_counter() - begin)))
print(sorted(name for name in {slow} if name in sys.modules))
"""


def run(code: str) -> list[str]:
    """Lines that a fresh interpreter prints, with the paths of this one."""
    paths = os.pathsep.join(path for path in sys.path if path)
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": paths},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()


def imported(module: Path) -> set[str]:
    """Top-level names that a module imports, wherever in it."""
    tree = ast.parse(module.read_text(encoding="utf-8"))
    names = [
        alias.name for node in ast.walk(tree) if isinstance(node, ast.Import)
        for alias in node.names
    ]  # fmt: skip
    names += [
        node.module for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module and not node.level
    ]  # fmt: skip
    return {name.split(".")[0] for name in names}


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(FOLDER)))
def test_no_module_imports_a_framework_or_the_network(module: Path) -> None:
    assert not imported(module) & (BARRED | NETWORK)


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(FOLDER)))
def test_no_module_asks_what_time_it_is(module: Path) -> None:
    text = module.read_text(encoding="utf-8")
    assert not any(call in text for call in (".now(", ".today(", ".utcnow(", "time.time("))


def test_a_job_is_sized_where_django_is_absent() -> None:
    assert run(WITHOUT_DJANGO) == ["recommended"]


def test_slow_libraries_wait_until_they_are_needed(capsys: pytest.CaptureFixture[str]) -> None:
    """The time of the import is printed, not asserted: the bench measures it."""
    milliseconds, slow = run(IMPORT_ALONE.replace("{slow}", repr(SLOW)))
    with capsys.disabled():
        print(f"\nimport sizing: {milliseconds} ms")
    assert slow == "[]"
