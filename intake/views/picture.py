"""The live picture as a drawing: places and widths worked out here, drawn by the template."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from intake.models import HireRequest
from intake.requests.picture import Picture, picture_of, plate_misfits
from intake.requests.selectors import journey_of
from intake.views.access import draft_only

WIDTH = 340.0
LEFT = 10.0


@dataclass(frozen=True, slots=True)
class Drawing:
    """Bars of the picture in the units of its view box."""

    picture: Picture
    running: float
    start: float
    start_at: float
    low: float
    span: float
    ticks: tuple[tuple[float, int], ...]

    @property
    def low_kw(self) -> int:
        return round(self.picture.sizes_kw[0])

    @property
    def high_kw(self) -> int:
        return round(self.picture.sizes_kw[-1])


def drawing_of(picture: Picture | None) -> Drawing | None:
    """The bars on one scale, from zero to a round number beyond the largest of them."""
    if picture is None:
        return None
    sizes = picture.sizes_kw or (picture.running_kw + picture.start_kw,)
    top_kw = _round_up(max(*sizes, picture.running_kw + picture.start_kw) * 1.1)
    scale = (WIDTH - 2 * LEFT) / top_kw
    running = picture.running_kw * scale
    return Drawing(
        picture=picture,
        running=round(running, 1),
        start=round(picture.start_kw * scale, 1),
        start_at=round(LEFT + running, 1),
        low=round(LEFT + sizes[0] * scale, 1),
        span=round(max((sizes[-1] - sizes[0]) * scale, 4.0), 1),
        ticks=tuple((round(LEFT + kw * scale, 1), round(kw)) for kw in (0, top_kw / 2, top_kw)),
    )


def _round_up(kw: float) -> float:
    """The next of 10, 20, 50, 100, 200, … at or above."""
    step = 10.0
    while True:
        for factor in (1, 2, 5):
            if step * factor >= kw:
                return step * factor
        step *= 10


def picture_context(request: HireRequest) -> dict[str, Any]:
    """What ``picture.html`` needs."""
    journey = journey_of(request, now=timezone.now())
    if plate_misfits(request, journey):
        return {"misfit": True}
    return {"drawing": drawing_of(picture_of(request, journey))}


@require_safe
@draft_only
def picture(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """The picture alone, for the pages that fetch it after they are shown."""
    return render(web, "intake/picture.html", picture_context(hire_request))
