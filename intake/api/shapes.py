"""Shapes of what the intake's API takes and gives, for the schema and for reading bodies."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from intake.models import CaseState, FindingState, Status
from intake.questions.applications import APPLICATION
from intake.questions.equipment import EQUIPMENT_KINDS
from intake.webhooks.kinds import KINDS

Shape = serializers.Serializer[Any]
APPLICATIONS = [choice.value for choice in APPLICATION.choices]
CASE_STATES = CaseState.values
FINDING_STATES = FindingState.values
SETTLED_AS = [str(FindingState.CONFIRMED), str(FindingState.ACCEPTED)]
STATUSES = Status.values
LOAD_KINDS = list(EQUIPMENT_KINDS)
WEBHOOK_KINDS = list(KINDS)
SEVERITIES = ["note", "warning", "needs_person"]


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


class Finding(Shape):
    code = serializers.CharField(help_text="In snake case; the same on pages, in letters and here.")
    severity = serializers.ChoiceField(SEVERITIES)
    subject = serializers.CharField(help_text="Path into the requirement: `loads[0].nameplate`.")
    detail = serializers.CharField()
    question = serializers.CharField(help_text="The one question that would settle it, or empty.")
    evidence = serializers.DictField()


class SizingResult(Shape):
    """The document that `setwright size` prints."""

    outcome = serializers.ChoiceField(["recommended", "needs_person", "no_fit"])
    demand = serializers.DictField()
    recommendation = serializers.DictField(allow_null=True)
    alternatives = serializers.ListField(child=serializers.DictField())
    findings = Finding(many=True)
    trace = serializers.ListField(child=serializers.DictField())
    cautions = serializers.ListField(child=serializers.DictField())
    versions = serializers.DictField()


class PlateAsked(Shape):
    nameplate = serializers.CharField(
        min_length=1, max_length=500, help_text="As stamped or typed: `15 hp 460 V 3 ph 21 A`."
    )
    kind = serializers.ChoiceField(LOAD_KINDS, default="other")


class PlateField(Shape):
    field = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]
    written = serializers.CharField(help_text="The value with its unit, as a page writes it.")


class Plate(Shape):
    read = serializers.DictField(help_text="Fields by name; a quantity is a value and its unit.")
    shown = PlateField(many=True)
    missing = serializers.ListField(child=serializers.CharField())
    not_understood = serializers.ListField(child=serializers.CharField())


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


class KeyShape(Shape):
    client = serializers.CharField()
    start = serializers.CharField(help_text="First letters, to tell keys apart.")
    scopes = serializers.ListField(child=serializers.CharField())
    acts_as = serializers.CharField(help_text="Sign-in of the person, or empty.")
    created_at = serializers.DateTimeField()
    expires_at = serializers.DateTimeField()


class RotationAsked(Shape):
    overlap_hours = serializers.IntegerField(
        min_value=0, max_value=2160, default=24, help_text="How long the old key goes on to hold."
    )


class NewKey(KeyShape):
    key = serializers.CharField(
        allow_null=True, help_text="Shown this once; `null` when the call is repeated."
    )


class WebhookKind(Shape):
    kind = serializers.ChoiceField(WEBHOOK_KINDS)
    about = serializers.CharField()


class WebhookKinds(Shape):
    items = WebhookKind(many=True)


class WebhookAsked(Shape):
    name = serializers.CharField(min_length=1, max_length=80)
    url = serializers.CharField(
        max_length=500, help_text="Public, by https; redirects are not followed."
    )
    kinds = serializers.ListField(child=serializers.ChoiceField(WEBHOOK_KINDS), min_length=1)


class WebhookChange(Shape):
    name = serializers.CharField(min_length=1, max_length=80, required=False)
    url = serializers.CharField(max_length=500, required=False)
    kinds = serializers.ListField(
        child=serializers.ChoiceField(WEBHOOK_KINDS), min_length=1, required=False
    )
    active = serializers.BooleanField(required=False)


class Webhook(Shape):
    id = serializers.IntegerField(min_value=1)
    version = serializers.IntegerField(help_text="Also the ETag; send it as If-Match.")
    name = serializers.CharField()
    url = serializers.CharField()
    kinds = serializers.ListField(child=serializers.ChoiceField(WEBHOOK_KINDS))
    active = serializers.BooleanField()
    off_reason = serializers.CharField()
    earlier_secret_until = serializers.DateTimeField(allow_null=True)
    created_at = serializers.DateTimeField()


class NewWebhook(Webhook):
    secret = serializers.CharField(
        allow_null=True, help_text="Shown this once; `null` when the call is repeated."
    )


class WebhookPage(Shape):
    items = Webhook(many=True)
    next_cursor = serializers.CharField(allow_null=True)


class Delivery(Shape):
    id = serializers.UUIDField()
    message_id = serializers.CharField(help_text="The `webhook-id` it is sent under.")
    kind = serializers.ChoiceField(WEBHOOK_KINDS)
    created_at = serializers.DateTimeField()
    attempts = serializers.IntegerField()
    last_status = serializers.IntegerField(allow_null=True)
    last_error = serializers.CharField()
    next_at = serializers.DateTimeField(allow_null=True)
    delivered_at = serializers.DateTimeField(allow_null=True)
    given_up_at = serializers.DateTimeField(allow_null=True)


class DeliveryPage(Shape):
    items = Delivery(many=True)
    next_cursor = serializers.CharField(allow_null=True)


# What a person left out may also be there and be empty: `null` or "" is "not said".
_TEXT = {"type": ["string", "null"]}
_QUANTITY = {"type": ["string", "number", "null"]}
_FLAG = {"enum": [True, False, "unsure", "", None]}
_DAY = {"type": "string", "format": "date"}
MOST_LOADS = 200
REQUIREMENT: dict[str, Any] = {
    "type": "object",
    "title": "Requirement",
    "description": (
        "What is asked of a set, as `setwright size` reads it. A quantity is a text with its unit "
        "(`9600 ft`); any value may be `unsure`."
    ),
    "additionalProperties": False,
    "required": ["application", "loads"],
    "properties": {
        "application": {"enum": [*APPLICATIONS, "unsure"]},
        "supply": {"enum": ["120/240", "208Y/120", "480Y/277", "240/120", "unsure", "", None]},
        "site": {
            "type": ["object", "null"],
            "properties": {
                "zip": _TEXT,
                **dict.fromkeys(
                    (
                        "altitude",
                        "ambient",
                        "hours_per_day",
                        "refuel_every",
                        "lead_length",
                        "noise_limit",
                        "noise_distance",
                    ),
                    _QUANTITY,
                ),
                "public_nearby": _FLAG,
            },
        },
        "hire": {
            "type": ["object", "null"],
            "required": ["start", "end"],
            "properties": {"start": _DAY, "end": _DAY},
        },
        "loads": {
            "type": "array",
            "minItems": 1,
            "maxItems": MOST_LOADS,
            "items": {
                "type": "object",
                "properties": {
                    "name": _TEXT,
                    "kind": {"enum": [*LOAD_KINDS, "", None]},
                    "quantity": {"type": ["integer", "string", "null"], "minimum": 1},
                    "nameplate": {"type": ["string", "object", "null"]},
                    "starting": _TEXT,
                    "float_switch": _FLAG,
                    "restarts_itself": _FLAG,
                    "demand_factor": {
                        "type": ["number", "string", "null"],
                        "minimum": 0,
                        "maximum": 1,
                    },
                    "starts_after": _TEXT,
                    "never_with": _TEXT,
                },
            },
        },
    },
    "example": {
        "application": "dewatering",
        "supply": "480Y/277",
        "site": {"zip": "80424", "altitude": "9600 ft", "hours_per_day": 24},
        "loads": [
            {"name": "Sump pump", "kind": "pump", "nameplate": "15 hp 460 V 3 ph 60 Hz 21 A code G"}
        ],
    },
}
