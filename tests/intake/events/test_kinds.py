"""Every kind of event reads as a sentence, and the record is only ever added to."""

from __future__ import annotations

import ast
import string
from datetime import UTC, datetime
from pathlib import Path

import pytest

from intake.events.export import COLUMNS, csv_lines, event_rows, harmless
from intake.events.kinds import KINDS, sentence
from intake.events.services import event_record
from intake.models import Event

NOW = datetime(2027, 3, 2, 16, 0, tzinfo=UTC)
ROOT = Path(__file__).resolve().parents[3]
FACTS = {
    "promised_at": NOW.isoformat(),
    "until": NOW.isoformat(),
    "outcome": "needs_person",
    "value": ["5-20", "L14-30"],
}


def placeholders(pattern: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(pattern) if name}


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_of_event_is_a_sentence(kind: str) -> None:
    names = placeholders(KINDS[kind]) - {"actor", "subject"}
    data = {name: FACTS.get(name, f"<{name}>") for name in names}
    words = sentence(Event(kind=kind, at=NOW, actor_label="Rosa", subject="altitude", data=data))
    assert words[0].isupper() or words[0] == "<"
    assert "{" not in words
    for name in names - set(FACTS):
        assert f"<{name}>" in words


def test_a_fact_that_was_not_recorded_leaves_a_dash() -> None:
    words = sentence(Event(kind="case_passed_on", at=NOW, actor_label="Rosa", data={}))
    assert words == "Rosa passed the case on to –: –"


def recorded_kinds() -> set[str]:
    """Every kind that the code records, by reading its calls."""
    found: set[str] = set()
    for path in [*ROOT.glob("intake/**/*.py"), *ROOT.glob("quotes/**/*.py")]:
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "event_record":
                found |= _kinds_in(node)
    return found


def _kinds_in(call: ast.Call) -> set[str]:
    value = next((k.value for k in call.keywords if k.arg == "kind"), None)
    branches = [value.body, value.orelse] if isinstance(value, ast.IfExp) else [value]
    return {b.value for b in branches if isinstance(b, ast.Constant) and isinstance(b.value, str)}


def test_every_recorded_kind_is_listed() -> None:
    assert recorded_kinds() <= set(KINDS)
    assert len(recorded_kinds()) > 15


def test_an_unknown_kind_is_a_defect(db: None) -> None:
    with pytest.raises(KeyError):
        event_record(kind="nobody_knows", now=NOW, actor="system")


def test_nothing_in_the_code_changes_or_deletes_an_event() -> None:
    for path in [*ROOT.glob("intake/**/*.py"), *ROOT.glob("quotes/**/*.py")]:
        text = path.read_text()
        assert "Event.objects.update" not in text
        if path.parent.name == "privacy":
            continue  # people have a right to be erased from the record too
        assert "Event._base_manager" not in text
        assert "Event.objects.filter" not in text or ".delete()" not in text


@pytest.mark.parametrize("rows", ["update", "delete"])
def test_the_record_refuses_changes(db: None, rows: str) -> None:
    event_record(kind="note_added", now=NOW, actor="system", text="as it was")
    event = Event.objects.get()
    with pytest.raises(NotImplementedError):
        Event.objects.update(kind="case_opened") if rows == "update" else event.delete()
    assert Event.objects.get().kind == "note_added"


def test_the_export_is_a_line_an_event(db: None) -> None:
    event_record(kind="note_added", now=NOW, actor="system", text='She said "soon", twice')
    text = "".join(csv_lines(COLUMNS, event_rows(Event.objects.all())))
    assert text.startswith("\ufeffat_utc,who,kind")
    assert text.splitlines()[1].startswith("2027-03-02T16:00:00+00:00,system,note_added")
    assert '""soon""' in text


@pytest.mark.parametrize(
    ("cell", "written"),
    [("=1+1", "'=1+1"), ("@SUM(A1)", "'@SUM(A1)"), ("-5", "-5"), ("+1,200.5", "+1,200.5"),
     ("-cmd|x", "'-cmd|x"), (None, ""), (7, "7")],
)  # fmt: skip
def test_no_cell_is_a_formula(cell: object, written: str) -> None:
    assert harmless(cell) == written
