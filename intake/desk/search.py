"""The words a rep finds a case by, and the line that names it."""

from __future__ import annotations

from intake.models import HireRequest
from intake.questions.applications import APPLICATION

LONGEST = 4000


def case_search_text(request: HireRequest) -> str:
    """Reference, organisation, what was answered in words, and the equipment, in lower case."""
    words = [request.reference, request.organisation.name if request.organisation else ""]
    words += [a.value for a in request.answers.all() if isinstance(a.value, str)]
    for load in request.loads.all():
        words += [load.name, load.nameplate]
    return " ".join(word for word in words if word).lower()[:LONGEST]


def case_headline(request: HireRequest) -> str:
    """Who asks, and for what: ``Riverbend Excavating · A pump``."""
    said = {a.key: a.value for a in request.answers.all() if isinstance(a.value, str)}
    who = request.organisation.name if request.organisation else ""
    who = who or said.get("company") or said.get("contact_name") or request.reference
    choice = APPLICATION.choice(said.get("application", ""))
    return f"{who} · {choice.label}"[:200] if choice else who[:200]
