"""Saved answers are taken or refused as their page, sent again, would take or refuse them."""

from __future__ import annotations

from random import Random
from typing import Any

import pytest

from intake.questions.answers import NOTHING, Answers, Given
from intake.questions.form import QuestionForm, posted_from, values_accepted
from intake.questions.question import UNSURE, Kind, Question
from intake.steps.catalogue import QUESTIONS, STEPS
from intake.steps.step import Step

TAKEN: dict[Kind, list[Any]] = {
    Kind.QUANTITY: ["12", "12 ft", " 3.5 ", "-1", "9e9", "none", "24", "70 °F"],
    Kind.ZIP: ["80424", "80424-1234", "00000", "8042"],
    Kind.DATE: ["2027-06-01", "06/14/2027", "2020-01-01", "soon"],
    Kind.TIME: ["07:00", "11:30 pm", "late"],
    Kind.EMAIL: ["name@example.com", "name"],
    Kind.PHONE: ["970 555 0142", "12"],
    Kind.WHOLE: ["4", "0", "x"],
}
ANYTHING: list[Any] = ["a", "  ", "a\x00b", "x" * 3000, 7, False]


def drawn(question: Question, random: Random) -> Given:
    choices: list[Any] = [choice.value for choice in question.choices]
    if question.kind is Kind.SEVERAL:
        values: list[Any] = [choices[:2], choices[-1:], [], ["nothing of it"]]
    else:
        values = TAKEN.get(question.kind, []) + choices * 3 + ANYTHING
        values = [*values, UNSURE, ""]
    odd = [NOTHING, Given(unsure=True), Given("", unsure=True)]
    return random.choice([*map(Given, values), *odd])


def by_its_page(step: Step, answers: Answers) -> dict[str, Any] | None:
    """What the page itself says."""
    saved = {q.key: answers.given(q.key) for q in step.questions}
    form = QuestionForm(step.questions, answers, posted_from(saved))
    return {k: a.value for k, a in form.given().items()} if form.is_valid() else None


@pytest.mark.parametrize("step", [s for s in STEPS if s.questions], ids=lambda step: step.key)
def test_as_its_page_would(step: Step) -> None:
    random, accepted = Random(step.key), 0
    for _ in range(400):
        # one answer is drawn, the others are right; now and then all are drawn
        answers = {q.key: right(q, random) for q in step.questions}
        for question in random.sample(step.questions, random.choice([0, 1, len(step.questions)])):
            answers[question.key] = drawn(question, random)
        others = {k: right(QUESTIONS[k], random) for k in ("application", "delivery", "supply")}
        given = Answers({**others, **answers}, has_float_switch=random.random() < 0.5)
        found = values_accepted(step.questions, given)
        assert found == by_its_page(step, given)
        accepted += found is not None
    assert 0 < accepted < 400


def right(question: Question, random: Random) -> Given:
    if question.kind is Kind.SEVERAL:
        return Given([question.choices[0].value])
    if question.choices:
        return Given(random.choice(question.choices).value)
    return Given(TAKEN.get(question.kind, ["a"])[0])
