"""What a question is: declared once, shown as input, in summaries, on the desk and in the API."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from django.utils.functional import Promise

from intake.questions.answers import Answers

Words = str | Promise
UNSURE = "unsure"


class Kind(StrEnum):
    """How a question is asked and its answer read."""

    CHOICE = "choice"
    PICK = "pick"
    SEVERAL = "several"
    QUANTITY = "quantity"
    WHOLE = "whole"
    TEXT = "text"
    LONG_TEXT = "long_text"
    NAMEPLATE = "nameplate"
    DATE = "date"
    TIME = "time"
    ZIP = "zip"
    EMAIL = "email"
    PHONE = "phone"


@dataclass(frozen=True, slots=True)
class Choice:
    """One possible answer; ``hint`` says it in the customer's words; rare ones are folded away."""

    value: str
    label: Words
    hint: Words = ""
    rare: bool = False


@dataclass(frozen=True, slots=True)
class Measure:
    """How a quantity is read: shown and assumed unit, the unit of the bounds, and the bounds."""

    shown: Words
    assumed: str
    unit: str
    low: float
    high: float


def always(answers: Answers) -> bool:
    """A question that every customer is asked."""
    return True


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """One question. ``path`` is its place in the requirement document; empty where it has none.

    ``missing`` is the sentence shown when nothing was given. ``not_sure`` offers that answer;
    ``optional`` lets the customer pass the question by. ``fixed`` is false where the choices are
    made for one request or language. Two questions are the same only if they are one object.
    """

    key: str
    kind: Kind
    label: Words
    missing: Words
    help: Words = ""
    why: Words = ""
    choices: tuple[Choice, ...] = ()
    measure: Measure | None = None
    not_sure: bool = True
    optional: bool = False
    path: str = ""
    autocomplete: str = ""
    figure: str = ""
    longest: int = 200
    fixed: bool = True
    applies: Callable[[Answers], bool] = always

    def choice(self, value: str) -> Choice | None:
        """The choice of that value, if it is one."""
        return next((choice for choice in self.choices if choice.value == value), None)
