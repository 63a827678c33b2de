"""Shapes of the cases of the desk."""

from __future__ import annotations

from rest_framework import serializers

from intake.api.shapes import Shape
from intake.api.shapes.requests import AnswerValue
from intake.api.shapes.sizing import Finding
from intake.models import CaseState, FindingState

CASE_STATES = CaseState.values
FINDING_STATES = FindingState.values
SETTLED_AS = [str(FindingState.CONFIRMED), str(FindingState.ACCEPTED)]


class CaseLine(Shape):
    reference = serializers.CharField()
    state = serializers.ChoiceField(CASE_STATES)
    urgent = serializers.BooleanField()
    reason = serializers.CharField(help_text="Code of the leading finding.")
    headline = serializers.CharField()
    owner = serializers.CharField()
    branch = serializers.CharField()
    opened_at = serializers.DateTimeField()
    promised_at = serializers.DateTimeField()


class CasePage(Shape):
    items = CaseLine(many=True)
    next_cursor = serializers.CharField(allow_null=True)


class CaseFindingShape(Finding):
    id = serializers.IntegerField(min_value=1)
    state = serializers.ChoiceField(FINDING_STATES)
    settled_by = serializers.CharField()
    reason = serializers.CharField()


class CaseShape(CaseLine):
    version = serializers.IntegerField(help_text="Also the ETag; send it as If-Match.")
    findings = CaseFindingShape(many=True)
    missing = serializers.CharField(help_text="What keeps it from being released; empty if none.")


class Settlement(Shape):
    state = serializers.ChoiceField(SETTLED_AS)
    reason = serializers.CharField(min_length=1, max_length=500)


class Correction(Shape):
    value = AnswerValue(help_text="As the intake takes it, or `unsure`.")
    reason = serializers.CharField(min_length=1, max_length=500)


class Words(Shape):
    words = serializers.CharField(min_length=1, max_length=1000, help_text="For the customer.")


class QuestionAsked(Words):
    finding = serializers.IntegerField(
        min_value=1,
        max_value=2147483647,
        required=False,
        help_text="The finding it would settle; the answer is then read into its place.",
    )


class CaseQuestionShape(Shape):
    id = serializers.IntegerField()
    words = serializers.CharField()
    asked_at = serializers.DateTimeField()
    answer = serializers.CharField()
    answered_at = serializers.DateTimeField(allow_null=True)
