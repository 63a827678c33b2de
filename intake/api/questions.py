"""The questions of the intake, as declared once, for whoever fills in a request."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from intake.api.operations import operation
from intake.api.shapes import requests as shapes
from intake.api.view import ApiView
from intake.questions.equipment import EQUIPMENT_KINDS, equipment_questions
from intake.questions.question import Question
from intake.steps.catalogue import CHECK, EQUIPMENT, STEPS


class Questions(ApiView):
    """All steps with their questions; which of them apply depends on the answers."""

    scope = "catalogue"

    @operation("Read the questions", "catalogue", {200: shapes.Questions}, id="read_questions")
    def get(self, request: Request) -> Response:
        steps = [step for step in STEPS if step not in (EQUIPMENT, CHECK)]
        return Response(
            {
                "steps": [
                    {
                        "step": step.key,
                        "title": str(step.title),
                        "questions": [question_document(q) for q in step.questions],
                    }
                    for step in steps
                ],
                "loads": {
                    kind: [question_document(q) for q in equipment_questions(kind)]
                    for kind in EQUIPMENT_KINDS
                },
            }
        )


def question_document(question: Question) -> dict[str, Any]:
    """One question: its key, its words, what may be answered."""
    measure = question.measure
    return {
        "key": question.key,
        "kind": str(question.kind),
        "label": str(question.label),
        "help": str(question.help),
        "why": str(question.why),
        "choices": [{"value": c.value, "label": str(c.label)} for c in question.choices],
        "unit": measure.assumed if measure else "",
        "low": measure.low if measure else None,
        "high": measure.high if measure else None,
        "bounds_unit": measure.unit if measure else "",
        "may_be_unsure": question.not_sure,
        "optional": question.optional,
    }
