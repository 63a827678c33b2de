"""The `setwright` command."""

from __future__ import annotations

import subprocess
import sys

import pytest

from config.command import OWN_COMMANDS, main, own_command
from tests.live_stack import ROOT

ENGINEERING = ("size", "sources")


@pytest.mark.parametrize("command", ENGINEERING)
def test_the_engineering_commands_load_no_web_framework(command: str) -> None:
    code = (
        "import sys\n"
        "from config.command import main\n"
        f"try: main(['{command}', '--help'])\n"
        "except SystemExit: pass\n"
        "print([m for m in ('django', 'celery', 'redis', 'psycopg') if m in sys.modules])"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert ran.stdout.splitlines()[-1] == "[]"


def test_an_own_command_gets_the_words_after_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("config.serve.demo", lambda argv: len(argv))
    assert main(["demo", "--port", "8001"]) == 2


@pytest.mark.parametrize("where", OWN_COMMANDS.values())
def test_every_own_command_exists(where: str) -> None:
    module, _, function = where.partition(":")
    assert callable(getattr(__import__(module, fromlist=[function]), function))


def test_everything_else_is_djangos(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check"]) == 0
    assert "no issues" in capsys.readouterr().out + capsys.readouterr().err


def test_the_exit_code_is_the_commands(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("config.serve.serve", lambda argv: 7)
    assert own_command("config.serve:serve", []) == 7
