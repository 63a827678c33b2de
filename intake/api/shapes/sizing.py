"""Shapes of a requirement, its result, and a nameplate."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from intake.api.shapes import Shape
from intake.questions.applications import APPLICATION
from intake.questions.equipment import EQUIPMENT_KINDS

APPLICATIONS = [choice.value for choice in APPLICATION.choices]
LOAD_KINDS = list(EQUIPMENT_KINDS)
SEVERITIES = ["note", "warning", "needs_person"]
MOST_LOADS = 200


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


# What a person left out may also be there and be empty: `null` or "" is "not said".
_TEXT = {"type": ["string", "null"]}
_QUANTITY = {"type": ["string", "number", "null"]}
_FLAG = {"enum": [True, False, "unsure", "", None]}
_DAY = {"type": "string", "format": "date"}
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
