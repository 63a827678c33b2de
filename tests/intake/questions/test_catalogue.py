"""The questions as data: what every one of them must have."""

import re

import pytest

from intake.questions.equipment import EQUIPMENT_KINDS, EQUIPMENT_QUESTIONS, equipment_questions
from intake.questions.question import Kind, Question
from intake.questions.typical import typical_equipment
from intake.steps.catalogue import QUESTIONS, STEPS
from sizing.nameplate import read_nameplate
from sizing.requirement import APPLICATIONS, LOAD_KINDS, STARTING_METHODS, SUPPLIES
from tests.intake.visitor import ROOT

EVERY = [*QUESTIONS.values(), *EQUIPMENT_QUESTIONS]
PERSONAL = {"contact_name", "company", "email", "phone", "site_contact", "note", "directions"}
NOT_TECHNICAL = PERSONAL | {"application", "name", "quantity", "plugs", "typical_code"}
NOT_TECHNICAL |= {"starts_after", "never_with"}


@pytest.mark.parametrize("question", EVERY, ids=lambda q: q.key)
def test_every_technical_question_takes_not_sure(question: Question) -> None:
    assert question.not_sure != (question.key in NOT_TECHNICAL)


@pytest.mark.parametrize("question", EVERY, ids=lambda q: q.key)
def test_a_question_has_words_and_says_what_is_missing(question: Question) -> None:
    assert str(question.label)
    assert question.optional or str(question.missing).endswith(".")


@pytest.mark.parametrize("question", EVERY, ids=lambda q: q.key)
def test_a_hint_is_at_most_one_sentence_and_holds_no_link(question: Question) -> None:
    hint = str(question.help)
    assert hint.rstrip(".").count(". ") == 0
    assert "http" not in hint
    assert "<" not in hint


@pytest.mark.parametrize("question", EVERY, ids=lambda q: q.key)
def test_a_quantity_has_a_measure_and_bounds(question: Question) -> None:
    assert (question.measure is not None) == (question.kind is Kind.QUANTITY)
    if question.measure:
        assert question.measure.low < question.measure.high


def test_no_question_is_asked_twice() -> None:
    keys = [question.key for step in STEPS for question in step.questions]
    assert len(keys) == len(set(keys))


def test_choices_are_those_that_the_method_knows() -> None:
    assert {c.value for c in QUESTIONS["application"].choices} == set(APPLICATIONS)
    assert {c.value for c in QUESTIONS["supply"].choices} == set(SUPPLIES)
    starting = next(q for q in EQUIPMENT_QUESTIONS if q.key == "starting")
    assert {c.value for c in starting.choices} == set(STARTING_METHODS)
    assert set(EQUIPMENT_KINDS) == set(LOAD_KINDS)


@pytest.mark.parametrize("kind", EQUIPMENT_KINDS.values(), ids=lambda k: k.code)
def test_the_example_of_every_kind_reads_as_a_plate(kind) -> None:
    plate = read_nameplate(kind.example)
    assert plate.volts or plate.system
    assert not plate.not_understood


@pytest.mark.parametrize("typical", typical_equipment().values(), ids=lambda t: t.code)
def test_typical_equipment_reads_and_is_marked(typical) -> None:
    plate = read_nameplate(typical.plate)
    assert plate.typical
    assert plate.volts or plate.system
    assert typical.source
    assert typical.kind in EQUIPMENT_KINDS


def test_a_float_switch_is_asked_of_pumps_alone() -> None:
    asking = [
        k for k in EQUIPMENT_KINDS if any(q.key == "float_switch" for q in equipment_questions(k))
    ]
    assert asking == ["pump"]


def test_every_test_that_the_promises_name_is_there() -> None:
    promises = (ROOT / "intake" / "ACCESSIBILITY.md").read_text()
    named = set(re.findall(r"`(test_\w+)`", promises))
    written = {
        name
        for path in (ROOT / "tests").rglob("test_*.py")
        for name in re.findall(r"^def (test_\w+)", path.read_text(), re.M)
    }
    assert len(named) > 40
    assert named <= written
    assert all(f"| U{n} |" in promises for n in range(1, 31))
