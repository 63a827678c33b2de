"""The words a rep finds a case by."""

from __future__ import annotations

from intake.models import HireRequest

LONGEST = 4000


def case_search_text(request: HireRequest) -> str:
    """Reference, organisation, what was answered in words, and the equipment, in lower case."""
    words = [request.reference, request.organisation.name if request.organisation else ""]
    words += [a.value for a in request.answers.all() if isinstance(a.value, str)]
    for load in request.loads.all():
        words += [load.name, load.nameplate]
    return " ".join(word for word in words if word).lower()[:LONGEST]
