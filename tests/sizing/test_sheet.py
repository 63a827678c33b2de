"""The worked sheet: chapters, sources, findings and cautions in plain text."""

from __future__ import annotations

from typing import Any

from sizing import read_requirement, recommend, sheet
from sizing.sheet import WIDTH
from tests.sizing.composition_cast import PUMP, a_document, a_fleet, a_set


def text(fleet: Any = None, **changes: Any) -> str:
    job = read_requirement(a_document(**changes))
    return sheet(recommend(job, fleet or a_fleet()).document())


def test_the_sheet_names_the_set_and_each_chapter() -> None:
    found = text()
    assert found.startswith("WORKED SHEET\nOutcome: recommended\nRecommended: 1 x S")
    for title in ("1  Nameplates", "3  Starting", "6  Site rating", "7  Checks", "10  Leads"):
        assert f"\n{title}" in found


def test_a_line_carries_its_substitution_and_its_source() -> None:
    flat = " ".join(text().split())
    assert "10 hp x 0.7457" in flat
    assert "[NFPA 70 (NEC) 2023" in flat


def test_lines_fit_the_width() -> None:
    assert max(len(line) for line in text(supply="unsure").splitlines()) <= WIDTH


def test_a_provisional_set_is_called_so_and_the_question_is_asked() -> None:
    found = text(supply="unsure")
    assert "Outcome: needs person" in found
    assert "Provisional: 1 x S" in found
    first_finding = found.split("\nFindings\n")[1].splitlines()[0]
    assert first_finding.strip().startswith("needs person at supply")
    assert "Ask:" in found


def test_without_a_set_the_sheet_says_so_and_still_shows_the_demand() -> None:
    found = text(fleet=[a_set(15)], loads=[{**PUMP, "nameplate": "100 hp 460 V 3 ph"}])
    assert "No set is recommended." in found
    assert "3  Starting" in found


def test_accessories_stand_with_their_reasons_and_cautions_at_the_end() -> None:
    found = text(site={"crossing": True})
    assert "x cable ramp: People or vehicles cross the leads." in found
    assert found.index("\nCautions\n") > found.index("7  Checks")


def test_a_document_without_findings_or_cautions_has_no_empty_headings() -> None:
    bare = {
        "outcome": "no_fit", "recommendation": None, "trace": [], "findings": [], "cautions": [],
    }  # fmt: skip
    assert sheet(bare) == "WORKED SHEET\nOutcome: no fit\nNo set is recommended.\n"


def test_a_line_without_source_and_an_unknown_chapter_are_printed_as_they_are() -> None:
    bare = {
        "outcome": "no_fit", "recommendation": None, "findings": [], "cautions": [],
        "trace": [{"chapter": "appendix", "line": "a = b", "source": ""}],
    }  # fmt: skip
    assert sheet(bare).endswith("\nappendix\n  a = b\n")
