"""A page's questions as one form: rendered, checked, and given back as answers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.functional import cached_property

from intake.questions.answers import Answers, Given
from intake.questions.fields import field_of
from intake.questions.question import UNSURE, Question, Words
from intake.questions.row import Row

UNSURE_SUFFIX = "__unsure"
MOST_KEPT = 5000


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing to put right: the same words in the summary and at the field."""

    field_id: str
    message: str


class QuestionForm(forms.Form):
    """The questions of one page. Every field takes text; what is missing is found at the end."""

    def __init__(
        self,
        questions: Iterable[Question],
        answers: Answers,
        data: Mapping[str, Any] | None = None,
    ) -> None:
        self.questions = tuple(questions)
        self.answers = answers
        super().__init__(data=data)
        if self.is_bound:
            self.fields = {question.key: field_of(question) for question in self.questions}

    def asked(self) -> tuple[Question, ...]:
        """The questions that apply, given what is posted on this very page."""
        return tuple(q for q in self.questions if q.applies(self._answers_now))

    @cached_property
    def _answers_now(self) -> Answers:
        if not self.is_bound:
            return self.answers
        posted = {q.key: self._posted(q) for q in self.questions}
        return Answers({**self.answers.by_key, **posted}, self.answers.has_float_switch)

    def _posted(self, question: Question) -> Given:
        if self._ticked_unsure(question):
            return Given(unsure=True)
        widget = self.fields[question.key].widget
        return Given(widget.value_from_datadict(self.data, {}, question.key) or None)

    def _ticked_unsure(self, question: Question) -> bool:
        if not question.not_sure:
            return False
        value = self.data.get(question.key)
        return bool(self.data.get(question.key + UNSURE_SUFFIX)) or (
            bool(question.choices) and value == UNSURE
        )

    def clean(self) -> dict[str, Any]:
        """Forgive an unsure answer its junk, drop what does not apply, ask for what is missing."""
        asked = self.asked()
        for question in self.questions:
            if question not in asked or self._ticked_unsure(question):
                self.errors.pop(question.key, None)
            elif self._missing(question):
                self.add_error(question.key, str(question.missing))
        return self.cleaned_data

    def _missing(self, question: Question) -> bool:
        if question.optional or question.key in self.errors:
            return False
        return not self.cleaned_data.get(question.key)

    def given(self) -> dict[str, Given]:
        """The answers of the questions that apply, once the form is valid."""
        return {q.key: self._given(q) for q in self.asked()}

    def _given(self, question: Question) -> Given:
        if self._ticked_unsure(question):
            return Given(unsure=True)
        return Given(self.cleaned_data.get(question.key) or None)

    def as_typed(self) -> dict[str, Given]:
        """What was posted, right or not, for keeping while the customer is still typing."""
        typed = {q.key: self._posted(q) for q in self.questions if self._was_posted(q)}
        return {key: _storable(given) for key, given in typed.items() if _short(given)}

    def _was_posted(self, question: Question) -> bool:
        return question.key in self.data or question.key + UNSURE_SUFFIX in self.data

    def rows(self) -> list[Row]:
        """The questions in order, for the page."""
        return [self._row(q) for q in self.questions if self._shown(q)]

    def _shown(self, question: Question) -> bool:
        """On a page that came back with an error a question stays where it was."""
        return question.applies(self.answers) or question in self.asked()

    def _row(self, question: Question) -> Row:
        if not self.is_bound:
            unsure = self.answers.given(question.key).unsure
            return Row(question, self.shown(question.key), unsure)
        errors = tuple(str(e) for e in self.errors.get(question.key, ()))
        return Row(question, self.shown(question.key), self._ticked_unsure(question), errors)

    def shown(self, key: str) -> Any:
        """What stands in the field of a question: what was posted, else what is saved."""
        value = self[key].value() if self.is_bound else self.answers.given(key).value
        return "" if value is None else value

    def problems(self, more: Mapping[str, Words] | None = None) -> list[Problem]:
        """Every problem of the page in the order of its questions."""
        for key, sentence in (more or {}).items():
            if key in self.fields and key not in self.errors:
                self.add_error(key, str(sentence))
        return [Problem(row.first_id, e) for row in self.rows() for e in row.errors]


def _short(given: Given) -> bool:
    """Not so long that keeping it, right or not, would be a burden."""
    return len(str(given.value)) <= MOST_KEPT


def _storable(given: Given) -> Given:
    """Without the one character that a database may refuse."""
    if not isinstance(given.value, str):
        return given
    return Given(given.value.replace("\x00", "") or None, given.unsure)


def values_accepted(questions: Iterable[Question], answers: Answers) -> dict[str, Any] | None:
    """The values that a page would take if the saved answers were sent again; ``None`` if not all.

    It says what ``QuestionForm`` says of ``posted_from``, without making a form.
    """
    saved = {question.key: _saved(question, answers) for question in questions}
    now = Answers({**answers.by_key, **saved}, answers.has_float_switch)
    values: dict[str, Any] = {}
    for question in questions:
        if not question.applies(now):
            continue
        given = saved[question.key]
        try:
            value = None if given.unsure else field_of(question).clean(given.value)
        except forms.ValidationError:
            return None
        if not (value or given.unsure or question.optional):
            return None
        values[question.key] = value or None
    return values


def _saved(question: Question, answers: Answers) -> Given:
    """A saved answer as it would come in from its page."""
    given = answers.given(question.key)
    unsure = given.unsure or (bool(question.choices) and given.value == UNSURE)
    if unsure and question.not_sure:
        return Given(unsure=True)
    if given.unsure or given.empty:
        return Given()
    return Given(given.value if isinstance(given.value, list) else str(given.value))


def posted_from(given: Mapping[str, Given]) -> QueryDict:
    """Saved answers in the shape of a posted form, to check them again."""
    data = QueryDict(mutable=True)
    for key, answer in given.items():
        if answer.unsure:
            data[key + UNSURE_SUFFIX] = "1"
        elif isinstance(answer.value, list):
            data.setlist(key, answer.value)
        elif answer.value is not None:
            data[key] = str(answer.value)
    return data
