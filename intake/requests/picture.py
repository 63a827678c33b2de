"""The live picture: what the answers so far add up to, and which sizes of set that points at."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import lru_cache

from django.utils.translation import gettext as _

from intake.models import HireRequest
from intake.requests.errors import AnswerRefused
from intake.requests.requirement import requirement_document
from intake.requests.runs import fleet_for, requirement_read
from intake.requests.selectors import load_complete, loads_of
from intake.requests.voltage import plates_read
from intake.steps.journey import Journey
from sizing.errors import SizingError
from sizing.fleet import GeneratorSet
from sizing.recommend import sized
from sizing.requirement import Requirement
from sizing.supply import settle_supply, suits
from sizing.unknowns import LEVELS, corner, settled, unknowns
from sizing.unsure import Answer

FROM_ROWS = 2


@dataclass(frozen=True, slots=True)
class Picture:
    """Demand and likely sizes [kW]; ``sizes_kw`` is empty where no set of the fleet fits yet."""

    running_kw: float
    start_kw: float
    sizes_kw: tuple[float, ...]
    open_points: tuple[str, ...]


def picture_of(request: HireRequest, journey: Journey) -> Picture | None:
    """The picture, once there are two rows that are filled in; ``None`` before."""
    complete = [load for load in loads_of(request) if load_complete(load)]
    if len(complete) < FROM_ROWS:
        return None
    document = requirement_document(request)
    names = {load.name for load in complete}
    document["loads"] = [load for load in document["loads"] if load["name"] in names]
    try:
        figures = _figures(json.dumps(document, sort_keys=True), _Fleet(fleet_for(document)))
    except (AnswerRefused, SizingError):
        return None
    return Picture(*figures, open_points(request, journey)) if figures else None


class _Fleet:
    """Sets that are the same only if they are one object, as their source keeps them."""

    def __init__(self, sets: tuple[GeneratorSet, ...]) -> None:
        self.sets = sets

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Fleet) and self.sets is other.sets

    def __hash__(self) -> int:
        return id(self.sets)


@lru_cache(maxsize=256)
def _figures(document: str, fleet: _Fleet) -> tuple[float, float, tuple[float, ...]] | None:
    """Running and starting demand and the sizes [kW]: the same until an answer or a set changes."""
    answers = answers_at_corners(requirement_read(json.loads(document)), fleet.sets)
    return _summed(answers) if answers else None


def plate_misfits(request: HireRequest, journey: Journey) -> bool:
    """Whether a plate can never run on the voltage chosen: then no sum is an honest one."""
    supply = journey.answers.value("supply")
    return bool(supply) and any(
        suits(load.nameplate, load.kind, supply).verdict == "never"
        for load in plates_read(loads_of(request))
    )


def answers_at_corners(requirement: Requirement, fleet: tuple[GeneratorSet, ...]) -> list[Answer]:
    """The method's answer at the low, the likely and the high end of what is not known."""
    plan = settle_supply(requirement, None)
    if plan.system is None:
        return []
    open_ = unknowns(requirement)
    points = dict.fromkeys(corner(open_, level) for level in LEVELS)
    return [sized(settled(requirement, open_, point), fleet, plan) for point in points]


def _summed(answers: list[Answer]) -> tuple[float, float, tuple[float, ...]] | None:
    likely = answers[len(answers) // 2]
    if not likely.demands:
        return None
    running_kw = sum(demand.sequence.peak_kw for demand in likely.demands)
    start_kw = max(demand.hardest_step.start_kw for demand in likely.demands)
    sizes = sorted({answer.options[0].rated_kw for answer in answers if answer.options})
    return running_kw, start_kw, tuple(sizes)


def open_points(request: HireRequest, journey: Journey) -> tuple[str, ...]:
    """What would still change the picture, the most telling first."""
    answers = journey.answers
    points = []
    if not answers.value("supply"):
        points.append(_("the voltage"))
    unclear = [
        load.name for load in loads_of(request) if load.nameplate_unsure or not load_complete(load)
    ]
    points += [_("the plate of {name}").format(name=name) for name in unclear[:3]]
    if not answers.value("altitude"):
        points.append(_("the height of the site"))
    if not answers.value("ambient"):
        points.append(_("the heat"))
    if not answers.value("lead_length"):
        points.append(_("the distance"))
    return tuple(points)
