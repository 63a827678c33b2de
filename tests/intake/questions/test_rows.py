"""Rows are drawn once and kept; they must come out as if they were drawn each time."""

from __future__ import annotations

from typing import Any

import pytest
from django.template.loader import render_to_string
from django.utils.translation import override

from intake.questions.question import UNSURE, Question
from intake.questions.row import Row, row_html
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


def test_a_row_with_an_error_says_it() -> None:
    row = Row(QUESTIONS["zip"], "8042", unsure=False, errors=("Enter five digits.",))
    assert "Enter five digits." in row_html(row)
    assert "Enter five digits." not in row_html(Row(QUESTIONS["zip"], "8042", unsure=False))
