"""What is taken for granted where the customer was not sure, apart from what was answered."""

from __future__ import annotations

from collections.abc import Callable

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.models import HireRequest
from intake.questions.answers import Answers
from intake.questions.question import Words
from intake.requests.errors import AnswerRefused
from intake.requests.requirement import requirement_document
from intake.requests.runs import requirement_read
from intake.requests.selectors import answers_of, loads_of
from sizing.quantity import written
from sizing.requirement import Band, Requirement

FEET = 0.3048


def assumptions_of(request: HireRequest) -> list[str]:
    """Each assumption as a sentence, in the units of the questions."""
    try:
        requirement = requirement_read(requirement_document(request))
    except AnswerRefused:
        return []
    return [*_site(requirement), *_equipment(request), *_answers(answers_of(request))]


def _site(requirement: Requirement) -> list[str]:
    site = requirement.site
    found = [
        _band(site.altitude_m, gettext_lazy("The site lies {low} to {high} high."), _feet),
        _band(site.ambient_c, gettext_lazy("It gets {low} to {high} hot."), _fahrenheit),
        _band(site.hours_per_day, gettext_lazy("The set runs {low} to {high} a day."), _hours),
        _band(site.refuel_every_h, gettext_lazy("It is refueled every {low} to {high}."), _hours),
        _band(site.lead_length_m, gettext_lazy("The cables are {low} to {high} long."), _feet),
    ]
    return [sentence for sentence in found if sentence]


def _band(band: Band, pattern: Words, unit: Callable[[float], str]) -> str:
    return "" if band.known else str(pattern).format(low=unit(band.low), high=unit(band.high))


def _feet(metres: float) -> str:
    return written(round(metres / FEET, -1), _("ft"))


def _fahrenheit(celsius: float) -> str:
    return written(round(celsius * 9 / 5 + 32), _("°F"))


def _hours(hours: float) -> str:
    return written(hours, _("hours"))


def _equipment(request: HireRequest) -> list[str]:
    """Rows whose plate was not read."""
    sentences = []
    for load in loads_of(request):
        if load.typical_code:
            sentences.append(
                _("{name} draws what such equipment usually draws.").format(name=load.name)
            )
        elif load.nameplate_unsure:
            sentences.append(
                _("{name} is not known yet; a rep asks you about it.").format(name=load.name)
            )
    return sentences


def _answers(answers: Answers) -> list[str]:
    if answers.given("supply").unsure:
        return [_("The voltage is open; a rep settles it with you before anything is sent.")]
    return []
