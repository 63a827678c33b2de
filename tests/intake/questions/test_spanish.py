"""Every word of the customer's pages has a Spanish one, with the same places to fill in."""

import re
from collections.abc import Iterator

import pytest
from django.utils.translation import override

from intake.questions.caution_words import CAUTION_WORDS
from intake.questions.equipment import EQUIPMENT_KINDS, EQUIPMENT_QUESTIONS
from intake.questions.finding_words import FINDING_WORDS
from intake.questions.plate_words import FIELD_WORDS
from intake.questions.typical import typical_equipment
from intake.steps.catalogue import QUESTIONS, STEPS

# Spelled alike in both languages.
ALIKE = {"Motor", "gpm", "gal", "lb", "°F", "dBA", "Auto", "No"}
PLACE = re.compile(r"\{[^}]*\}|%\(\w+\)s")


def words() -> Iterator[object]:
    for question in (*QUESTIONS.values(), *EQUIPMENT_QUESTIONS):
        yield from (question.label, question.help, question.why, question.missing)
        for choice in question.choices:
            yield from (choice.label, choice.hint)
        if question.measure:
            yield question.measure.shown
    yield from (step.title for step in STEPS)
    for kind in EQUIPMENT_KINDS.values():
        yield from (kind.label, kind.covers)
    yield from FINDING_WORDS.values()
    yield from CAUTION_WORDS.values()
    yield from FIELD_WORDS.values()


def test_every_declared_word_has_a_spanish_one() -> None:
    missing = []
    for lazy in words():
        english = str(lazy)
        with override("es"):
            spanish = str(lazy)
        if english == spanish and english not in ALIKE | {""}:
            missing.append(english)
        assert sorted(PLACE.findall(english)) == sorted(PLACE.findall(spanish))
    assert missing == []


@pytest.mark.parametrize("typical", typical_equipment().values(), ids=lambda t: t.code)
def test_typical_equipment_has_both_names(typical) -> None:
    assert typical.name_en
    assert typical.name_es
    with override("es"):
        assert typical.name == typical.name_es
