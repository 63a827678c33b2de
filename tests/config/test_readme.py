"""The README's worked case, worked."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from config.command import main
from tests.live_stack import ROOT

README = (ROOT / "README.md").read_text()
STORY = ROOT / "demo_fixtures" / "stories" / "dewatering.json"


def block(language: str) -> str:
    found = re.search(rf"```{language}\n(.*?)```", README, re.DOTALL)
    assert found is not None
    return found[1]


def unwrapped(sheet: str) -> str:
    """Join the sheet's continuation lines."""
    return re.sub(r"\s+", " ", sheet)


def test_the_job_shown_is_the_story() -> None:
    assert json.loads(block("json")) == json.loads(STORY.read_text())


@pytest.mark.parametrize("line", block("text").splitlines())
def test_each_line_shown_is_on_the_sheet(line: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["size", "--sheet", str(STORY)]) == 0
    assert line in unwrapped(capsys.readouterr().out)


def test_the_first_paragraph_states_the_job_and_then_come_two_commands() -> None:
    title, job, commands, *_ = README.split("\n\n")
    assert title == "# Setwright"
    assert "hire" in job
    assert "quote" in job
    assert [line.split("#")[0].strip() for line in commands.splitlines()] == [
        "make demo",
        "make test",
    ]


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md", "config/README.md"])
def test_every_path_named_exists(page: str) -> None:
    """Paths in backquotes that begin with one of our folders."""
    named = re.findall(
        r"`((?:config|intake|quotes|sizing|tests|demo_fixtures)/[\w./]*)`",
        (ROOT / page).read_text(),
    )
    missing = [path for path in named if not Path(ROOT, path).exists()]
    assert [path for path in missing if "NAME" not in path] == []


def test_every_variable_the_settings_read_is_listed() -> None:
    settings = (ROOT / "config" / "settings.py").read_text()
    read = set(re.findall(r'env\.\w+\(\s*"([A-Z_]+)"', settings)) - {"SETWRIGHT_DEMO"}
    listed = (ROOT / "config" / "README.md").read_text()
    assert {name for name in read if f"`{name}`" not in listed} == set()
