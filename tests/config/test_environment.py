"""Every variable that is read is explained, and none that is not."""

from __future__ import annotations

import re
import shlex
from importlib import import_module
from importlib.metadata import entry_points
from pathlib import Path

import yaml
from django.core.management import get_commands

from config.broker import QUEUES
from config.command import OWN_COMMANDS

ROOT = Path(__file__).resolve().parents[2]
READ = re.compile(
    r"(?:env\.\w+\(\s*|environ\.get\(\s*|environ\.setdefault\(\s*|environ\[)\"([A-Z][A-Z_]+)\""
)
NAMES = ("config.", "python:config.")  # modules, as the programs are told of them
SET_BY_US = {"DJANGO_SETTINGS_MODULE", "SETWRIGHT_DEMO", "ORT_DISABLE_TELEMETRY"}


def read_somewhere() -> set[str]:
    files = [
        *ROOT.glob("config/**/*.py"),
        *ROOT.glob("intake/**/*.py"),
        *ROOT.glob("quotes/**/*.py"),
    ]
    found = {name for file in files for name in READ.findall(file.read_text())}
    return (found | {"PROMETHEUS_MULTIPROC_DIR"}) - SET_BY_US


def explained() -> set[str]:
    text = (ROOT / "config/README.md").read_text().split("## Variables")[1].split("\n## ")[0]
    rows = [line.split("|")[1] for line in text.splitlines() if line.startswith("| `")]
    return {name for row in rows for name in re.findall(r"`([A-Z_]+)`", row)}


def test_the_reference_of_variables_is_whole() -> None:
    assert read_somewhere() - explained() == set(), "explain them in config/README.md"
    assert explained() - read_somewhere() == set(), "explained, but nothing reads them"


def test_the_compose_file_sets_what_there_is_and_serves_every_queue() -> None:
    made = yaml.safe_load((ROOT / "config/compose.yaml").read_text())
    services = made["services"]
    assert set(made["x-setwright"]["environment"]) <= explained()
    assert {"web", "worker", "relay", "beat", "database", "broker"} <= set(services)
    workers = [one["command"] for one in services.values() if " worker " in one.get("command", "")]
    served = {
        queue for line in workers for queue in line.split("--queues ")[1].split()[0].split(",")
    }
    assert set(QUEUES) - served == {"ocr"}, "photos need the extra `ocr` and a worker of their own"


def run_by_compose() -> list[list[str]]:
    """The commands of our own services, a shell's taken apart."""
    services = yaml.safe_load((ROOT / "config/compose.yaml").read_text())["services"].values()
    lines = [one["command"] for one in services if one.get("image") == "setwright"]
    return [
        shlex.split(part)
        for line in lines
        for part in line.removeprefix('sh -c "').rstrip('"').split(" && ")
    ]


def test_the_compose_file_runs_what_there_is() -> None:
    commands = run_by_compose()
    assert {words[0] for words in commands} == {"setwright", "gunicorn", "celery"}
    assert len(commands) == 7
    for program, *words in commands:
        assert entry_points(group="console_scripts", name=program)
        if program == "setwright":
            assert words[0] in {*OWN_COMMANDS, *get_commands()}
        named = [word.removeprefix("python:") for word in words if word.startswith(NAMES)]
        assert program == "setwright" or named
        for module in named:
            import_module(module.partition(":")[0])


def test_the_pages_for_operators_name_every_queue() -> None:
    text = (ROOT / "config/OPERATIONS.md").read_text().split("## Queues")[1].split("\n## ")[0]
    assert set(re.findall(r"^\| `(\w+)`", text, re.MULTILINE)) == set(QUEUES)
