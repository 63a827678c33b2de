"""The way through the intake: which steps apply, which are complete, what comes next."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

from intake.questions.answers import Answers
from intake.questions.form import values_accepted
from intake.steps.catalogue import CHECK, EQUIPMENT, STEPS
from intake.steps.step import Step


@dataclass(frozen=True)
class Journey:
    """A request's way. ``equipment_complete`` says whether every row of equipment is."""

    answers: Answers
    equipment_complete: bool
    today: date

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """The steps that apply, in order."""
        return tuple(step for step in STEPS if step.applies(self.answers))

    def complete(self, step: Step) -> bool:
        """Everything that the step must know is known."""
        if step is EQUIPMENT:
            return self.equipment_complete
        if step is CHECK:
            return False
        if step.key not in self._checked:
            self._checked[step.key] = step_form_checked(step, self.answers, self.today)
        return self._checked[step.key]

    @cached_property
    def _checked(self) -> dict[str, bool]:
        """Steps that were looked at already, and whether they are complete."""
        return {}

    def following(self, step: Step) -> Step:
        """The step after this one; the last leads to itself."""
        place = self.steps.index(step)
        return self.steps[min(place + 1, len(self.steps) - 1)]

    def before(self, step: Step) -> Step | None:
        """The step before this one; none before the first."""
        place = self.steps.index(step)
        return self.steps[place - 1] if place else None

    def first_open(self) -> Step:
        """The first step that is not complete; the check page when all are."""
        return next((step for step in self.steps if not self.complete(step)), CHECK)

    @cached_property
    def ready(self) -> bool:
        """Everything but the sending is done."""
        return self.first_open() is CHECK

    def place(self, step: Step) -> tuple[int, int]:
        """Where the step stands, counted from one, and how many there are."""
        return self.steps.index(step) + 1, len(self.steps)

    def with_answers(self, answers: Answers, today: date) -> Journey:
        """The way with other answers, on the day that it is where they say the site is."""
        return replace(self, answers=answers, today=today)


def step_form_checked(step: Step, answers: Answers, today: date) -> bool:
    """Whether the saved answers of a step would pass its page as it stands today."""
    values = values_accepted(step.questions, answers)
    return values is not None and not step.compare(values, today)
