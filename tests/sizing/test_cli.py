"""The command line: exit 0 for any outcome, 2 with one line a problem, no database."""

from __future__ import annotations

import io
import json
import runpy
import sys
from pathlib import Path
from typing import Any

import pytest

from demo_fixtures import story_path
from sizing import write_fleet
from sizing.cli import main, size_main, sources_main
from tests.sizing.composition_cast import a_document, a_fleet


@pytest.fixture
def asked(tmp_path: Path) -> Path:
    path = tmp_path / "job.json"
    path.write_text(json.dumps(a_document()), encoding="utf-8")
    return path


def test_a_requirement_is_sized_against_the_demo_fleet(asked: Path, capsys: Any) -> None:
    assert size_main([str(asked)]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["outcome"] == "recommended"
    assert found["recommendation"]["sets"][0]["code"].startswith("T")


def test_another_fleet_may_be_named(asked: Path, tmp_path: Path, capsys: Any) -> None:
    fleet = tmp_path / "fleet.csv"
    fleet.write_text(write_fleet(a_fleet(60, 80)), encoding="utf-8")
    assert size_main([str(asked), "--fleet", str(fleet)]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["recommendation"]["sets"][0]["code"] == "S60"


def test_a_dash_reads_standard_input(monkeypatch: pytest.MonkeyPatch, capsys: Any) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(json.dumps(a_document())))
    assert size_main(["-"]) == 0
    assert json.loads(capsys.readouterr().out)["outcome"] == "recommended"


def test_the_sheet_is_printed_as_text(asked: Path, capsys: Any) -> None:
    assert size_main([str(asked), "--sheet"]) == 0
    assert capsys.readouterr().out.startswith("WORKED SHEET")


@pytest.mark.parametrize("outcome", ["needs_person", "no_fit"])
def test_any_outcome_exits_with_0(outcome: str, tmp_path: Path, capsys: Any) -> None:
    document = a_document(supply="unsure") if outcome == "needs_person" else a_document(
        {"name": "Furnace", "kind": "heater", "nameplate": "1500 kW 480 V 3 ph"}
    )  # fmt: skip
    path = tmp_path / "job.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    assert size_main([str(path)]) == 0
    assert json.loads(capsys.readouterr().out)["outcome"] == outcome


def test_a_broken_document_lists_every_problem_with_its_path(tmp_path: Path, capsys: Any) -> None:
    path = tmp_path / "job.json"
    broken = {
        "application": "circus", "supply": "460", "site": {"altitude": "high"},
        "loads": [{"name": "Pump", "kind": "pump", "nameplate": {"hp": -3}, "quantity": 0}],
    }  # fmt: skip
    path.write_text(json.dumps(broken), encoding="utf-8")
    assert size_main([str(path)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    paths = {line.split(":")[0] for line in err.splitlines()}
    assert {"application", "supply", "site.altitude", "loads[0].quantity"} <= paths
    assert any(one.startswith("loads[0].nameplate") for one in paths)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"{", "document: not JSON"),
        (b'{"site": NaN}', "NaN is no number"),
        (b"\xff\xfe", "not UTF-8"),
        (b"[" * 100_000, "nested too deep"),
        (b"[]", "must be an object"),
        (b"3", "must be an object"),
    ],
)
def test_what_is_no_document_is_refused_in_a_line(
    content: bytes, says: str, tmp_path: Path, capsys: Any
) -> None:
    path = tmp_path / "job.json"
    path.write_bytes(content)
    assert size_main([str(path)]) == 2
    err = capsys.readouterr().err
    assert says in err
    assert "Traceback" not in err


def test_a_file_that_is_not_there_is_refused(tmp_path: Path, capsys: Any) -> None:
    assert size_main([str(tmp_path / "none.json")]) == 2
    assert "No such file" in capsys.readouterr().err


def test_a_bad_fleet_is_refused_with_its_paths(asked: Path, tmp_path: Path, capsys: Any) -> None:
    fleet = tmp_path / "fleet.csv"
    fleet.write_text(write_fleet(a_fleet(60)).replace(",60,75,", ",0,x,"), encoding="utf-8")
    assert size_main([str(asked), "--fleet", str(fleet)]) == 2
    paths = {line.split(":")[0] for line in capsys.readouterr().err.splitlines()}
    assert paths == {"fleet[0].prime_kw", "fleet[0].prime_kva"}


@pytest.mark.parametrize("argv", [[], ["a", "b"], ["--what", "a"]])
def test_bad_usage_is_one_line(argv: list[str], capsys: Any) -> None:
    assert size_main(argv) == 2
    err = capsys.readouterr().err
    assert err.startswith("command line: ")
    assert len(err.splitlines()) == 1


def test_sources_are_printed(capsys: Any) -> None:
    assert sources_main([]) == 0
    assert "selection_limits" in capsys.readouterr().out
    assert sources_main(["x"]) == 2


def test_main_dispatches(asked: Path, capsys: Any) -> None:
    assert main(["size", str(asked)]) == 0
    assert main(["sources"]) == 0
    assert main([]) == main(["frobnicate"]) == 2
    assert "say size FILE or sources" in capsys.readouterr().err


def test_a_reader_that_went_away_is_no_error(asked: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Gone(io.StringIO):
        def write(self, _: str) -> int:
            raise BrokenPipeError

    monkeypatch.setattr(sys, "stdout", Gone())
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    assert size_main([str(asked)]) == 0


def test_the_module_runs_by_itself(monkeypatch: pytest.MonkeyPatch, capsys: Any) -> None:
    monkeypatch.setattr(sys, "argv", ["cli", "size", str(story_path("dewatering"))])
    monkeypatch.delitem(sys.modules, "sizing.cli")
    with pytest.raises(SystemExit) as stopped:
        runpy.run_module("sizing.cli", run_name="__main__")
    assert stopped.value.code == 0
    assert json.loads(capsys.readouterr().out)["outcome"] == "recommended"
