"""Rows are drawn once and kept; they must come out as if they were drawn each time."""

from __future__ import annotations

from typing import Any

import pytest
from django.template.loader import render_to_string
from django.utils.translation import override

from intake.questions.equipment import EQUIPMENT_KINDS, TYPICAL, equipment_questions
from intake.questions.question import UNSURE, Question
from intake.questions.row import Row, row_html
from intake.questions.typical import typical_of
from intake.steps.catalogue import QUESTIONS

TYPED = ["", "12 ft", '<b>"&amp;', "\ue000", "ñandú"]


def values_of(question: Question) -> list[Any]:
    if not question.choices:
        return TYPED
    first, last = question.choices[0].value, question.choices[-1].value
    return ["", first, last, UNSURE, "<none of them>", [], [first, last]]


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("question", QUESTIONS.values(), ids=QUESTIONS)
def test_a_kept_row_is_the_row(question: Question, language: str) -> None:
    rows = [
        Row(question, value, unsure) for value in values_of(question) for unsure in (False, True)
    ]
    with override(language):
        for row in [*rows, *rows]:
            assert row_html(row) == render_to_string("field.html", {"row": row})


@pytest.mark.parametrize("kind", EQUIPMENT_KINDS)
def test_typical_equipment_is_named_in_the_readers_language(kind: str) -> None:
    for language in ("en", "es", "en"):
        with override(language):
            found = [q for q in equipment_questions(kind, ("Other",)) if q.key == TYPICAL.key]
            names = [typical.name for typical in typical_of(kind)]
            assert [str(c.label) for question in found for c in question.choices] == names
            for question in found:
                row = Row(question, question.choices[-1].value, unsure=False)
                assert row_html(row) == render_to_string("field.html", {"row": row})
                assert names[-1] in row_html(row)


def test_a_row_with_an_error_says_it() -> None:
    row = Row(QUESTIONS["zip"], "8042", unsure=False, errors=("Enter five digits.",))
    assert "Enter five digits." in row_html(row)
    assert "Enter five digits." not in row_html(Row(QUESTIONS["zip"], "8042", unsure=False))
