"""Shapes of the questions, the answers, the rows of equipment, and a request whole."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from intake.api.shapes import Shape
from intake.api.shapes.sizing import APPLICATIONS, LOAD_KINDS, Finding
from intake.models import Status

STATUSES = Status.values


ANSWER: dict[str, Any] = {
    "type": ["string", "number", "boolean", "array"],
    "maxLength": 5000,
    "minimum": -1e15,
    "maximum": 1e15,
    "items": {"type": "string", "maxLength": 200},
}


@extend_schema_field(ANSWER)
class AnswerValue(serializers.JSONField):
    """One answer: a text, a number, a flag, several texts, or `unsure`."""


class Choice(Shape):
    value = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]


class Question(Shape):
    key = serializers.CharField()
    kind = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]
    help = serializers.CharField()
    why = serializers.CharField()
    choices = Choice(many=True)
    unit = serializers.CharField(help_text="Assumed where none is written; empty if no quantity.")
    low = serializers.FloatField(allow_null=True)
    high = serializers.FloatField(allow_null=True)
    bounds_unit = serializers.CharField()
    may_be_unsure = serializers.BooleanField()
    optional = serializers.BooleanField()


class Questions(Shape):
    steps = serializers.ListField(child=serializers.DictField())
    loads = serializers.DictField(help_text="Questions about a row of equipment, by kind.")


class LoadAsked(Shape):
    """A row of equipment. `"unsure"` is an answer; a field left out counts as unsure."""

    kind = serializers.ChoiceField(LOAD_KINDS)
    name = serializers.CharField(required=False, max_length=120)
    quantity = serializers.IntegerField(required=False, default=1, min_value=1, max_value=500)
    nameplate = serializers.CharField(required=False, max_length=500)
    typical_code = serializers.CharField(required=False, max_length=60)
    starting = serializers.CharField(required=False, max_length=24)
    float_switch = serializers.JSONField(
        required=False, help_text="`true`, `false` or `unsure`; of pumps."
    )
    restarts_itself = serializers.JSONField(
        required=False, help_text="`true`, `false` or `unsure`; of other motors."
    )
    demand_percent = serializers.IntegerField(required=False, min_value=1, max_value=100)
    starts_after = serializers.CharField(required=False, max_length=120)
    never_with = serializers.CharField(required=False, max_length=120)


class Load(Shape):
    id = serializers.IntegerField(min_value=1)
    kind = serializers.CharField()
    name = serializers.CharField()
    quantity = serializers.IntegerField()
    nameplate = serializers.CharField(help_text="As typed, `unsure`, or empty while not said.")
    typical_code = serializers.CharField()
    starting = serializers.CharField()
    float_switch = serializers.JSONField(allow_null=True)
    restarts_itself = serializers.JSONField(allow_null=True)
    demand_percent = serializers.IntegerField(allow_null=True)
    starts_after = serializers.CharField()
    never_with = serializers.CharField()


class Quantity(Shape):
    value = serializers.FloatField()
    unit = serializers.CharField()


class RequestAsked(Shape):
    application = serializers.ChoiceField(APPLICATIONS)
    language = serializers.ChoiceField(["en", "es"], default="en")
    answers = serializers.DictField(
        child=AnswerValue(), required=False, help_text="By question key; see `/api/v1/questions`."
    )
    loads = serializers.ListField(
        child=LoadAsked(),
        required=False,
        max_length=200,
        help_text="Left out, the application's usual row stands ready.",
    )


class OpenStep(Shape):
    step = serializers.CharField()
    title = serializers.CharField()


class Request(Shape):
    reference = serializers.CharField()
    status = serializers.ChoiceField(STATUSES)
    version = serializers.IntegerField(help_text="Also the ETag; send it as If-Match.")
    created_at = serializers.DateTimeField()
    submitted_at = serializers.DateTimeField(allow_null=True)
    link = serializers.CharField(help_text="The customer's own page. Treat it as a password.")
    answers = serializers.DictField(help_text="As they were said.")
    quantities = serializers.DictField(
        child=Quantity(), help_text="What was understood of the quantities among the answers."
    )
    loads = Load(many=True)
    open_steps = OpenStep(many=True)
    outcome = serializers.CharField(allow_null=True)
    findings = Finding(many=True)
    promised_at = serializers.DateTimeField(
        allow_null=True, help_text="Until when a rep will have looked, where one must."
    )


class RequestLine(Shape):
    reference = serializers.CharField()
    status = serializers.ChoiceField(STATUSES)
    created_at = serializers.DateTimeField()
    submitted_at = serializers.DateTimeField(allow_null=True)


class RequestPage(Shape):
    items = RequestLine(many=True)
    next_cursor = serializers.CharField(allow_null=True)
