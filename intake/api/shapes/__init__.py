"""Shapes of what the intake's API takes and gives, for the schema and for reading bodies."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

Shape = serializers.Serializer[Any]
