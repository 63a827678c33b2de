"""The form of one row of equipment: a plate, or a typical one, or "not sure"."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from intake.questions.answers import Answers, Given
from intake.questions.equipment import NAMEPLATE, TYPICAL, equipment_questions
from intake.questions.form import QuestionForm
from intake.questions.question import Question


class LoadForm(QuestionForm):
    """Questions of one row; typical equipment stands in for a plate that cannot be read."""

    def __init__(
        self,
        kind: str,
        given: Mapping[str, Given],
        others: tuple[str, ...] = (),
        data: Mapping[str, Any] | None = None,
    ) -> None:
        super().__init__(equipment_questions(kind, others), Answers(given), data)

    def _missing(self, question: Question) -> bool:
        if question is NAMEPLATE and self.data.get(TYPICAL.key):
            return False
        return super()._missing(question)
