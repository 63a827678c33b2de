"""Shapes of a program's own key."""

from __future__ import annotations

from rest_framework import serializers

from intake.api.shapes import Shape


class KeyShape(Shape):
    client = serializers.CharField()
    start = serializers.CharField(help_text="First letters, to tell keys apart.")
    scopes = serializers.ListField(child=serializers.CharField())
    acts_as = serializers.CharField(help_text="Sign-in of the person, or empty.")
    organisation = serializers.CharField(help_text="The public body it belongs to, or empty.")
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
