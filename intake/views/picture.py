"""The live picture: what the answers so far add up to, drawn as the server knows it."""

from __future__ import annotations

from intake.models import HireRequest
from intake.requests.selectors import loads_of


def picture_shown(request: HireRequest) -> bool:
    """From the second row on there is something to show."""
    return loads_of(request).count() > 1
