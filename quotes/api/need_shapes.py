"""What every call tells of a need: how urgent it is, and what was promised."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from intake.api.documents import moment
from intake.api.shapes import Shape
from quotes.models import Need

FIGURES = ("state", "rank", "rank_reason", "life_safety", "needs_person")
MOMENTS = {  # as the document names them, and the need
    "need_by": "need_by",
    "call_back_by": "call_back_by",
    "called_at": "called_back_at",
    "accepted_at": "accepted_at",
}


class NeedStanding(Shape):
    """The part of a need's document that is the same wherever it came from, without its state."""

    rank = serializers.IntegerField(help_text="1 goes first.")
    rank_reason = serializers.CharField()
    need_by = serializers.DateTimeField()
    life_safety = serializers.BooleanField()
    needs_person = serializers.BooleanField()
    call_back_by = serializers.DateTimeField(
        allow_null=True, help_text="By when a person calls; `null` where no call was promised."
    )
    called_at = serializers.DateTimeField(
        allow_null=True, help_text="When the call was recorded as made; `null` until then."
    )
    accepted_at = serializers.DateTimeField()


def need_standing(need: Need) -> dict[str, Any]:
    """The same as a document, with the state; moments in UTC."""
    return {
        **{name: getattr(need, name) for name in FIGURES},
        **{name: moment(getattr(need, held)) for name, held in MOMENTS.items()},
    }
