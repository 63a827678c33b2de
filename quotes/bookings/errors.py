"""Refusals about bookings."""

from __future__ import annotations

from intake.requests.errors import ServiceRefusal


class JustTaken(ServiceRefusal):
    """Somebody was first: the units are gone for these days. ``data`` holds what else there is."""

    code = "just_taken"
    sentence = "The set was taken by somebody else a moment ago. Nothing was ordered or charged."
