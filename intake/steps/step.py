"""A step: one page of the intake. It says whether it applies; the journey derives the rest."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from intake.questions.answers import Answers
from intake.questions.question import Question, Words, always

Problems = dict[str, Words]
Check = Callable[[Mapping[str, Any], date], Problems]


def nothing_to_compare(values: Mapping[str, Any], today: date) -> Problems:
    """A step whose answers stand on their own."""
    return {}


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """One page. ``compare`` looks at answers that must agree with each other or with today.

    Two steps are the same only if they are one object.
    """

    key: str
    title: Words
    questions: tuple[Question, ...] = ()
    applies: Callable[[Answers], bool] = always
    compare: Check = nothing_to_compare

    def asked(self, answers: Answers) -> tuple[Question, ...]:
        """The questions of this page that apply."""
        return tuple(q for q in self.questions if q.applies(answers))
