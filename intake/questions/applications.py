"""The first question: what is being powered. Everything else derives from it."""

from __future__ import annotations

from collections.abc import Callable

from django.utils.translation import gettext_lazy as _

from intake.questions.answers import Answers
from intake.questions.question import Choice, Kind, Question


def application_is(*names: str) -> Callable[[Answers], bool]:
    """A question or step of these applications alone."""
    return lambda answers: answers.application in names


APPLICATION = Question(
    key="application",
    kind=Kind.CHOICE,
    label=_("What will the generator set power?"),
    missing=_("Choose what the generator set will power."),
    not_sure=False,
    path="application",
    choices=(
        Choice(
            "dewatering", _("A pump"), _("Dewatering, bypass or a sump, often on a float switch")
        ),
        Choice(
            "jobsite_trailer",
            _("A jobsite trailer"),
            _("Office, heat and air conditioning, tools around it"),
        ),
        Choice(
            "event_lighting",
            _("Lights or an event"),
            _("Field lights, stage, vendors, a night game"),
        ),
        Choice(
            "emergency",
            _("A building in an emergency"),
            _("Shelter, clinic, water plant, store without power"),
        ),
        Choice("other", _("Something else"), _("Tell us what, and we ask the general questions")),
    ),
)

FIRST_EQUIPMENT = {
    "dewatering": "pump",
    "jobsite_trailer": "panel",
    "event_lighting": "lamp",
    "emergency": "panel",
}
