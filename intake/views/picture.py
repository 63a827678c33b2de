"""The live picture as a drawing: places and widths worked out here, drawn by the template."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from django.http import HttpRequest, HttpResponse
from django.template.defaultfilters import floatformat
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.views.decorators.http import require_safe

from intake.marks import drawn_with_marks, filled, mark
from intake.models import HireRequest
from intake.requests.picture import Picture, picture_of, plate_misfits
from intake.requests.selectors import journey_of
from intake.steps.journey import Journey
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


def picture_html(request: HireRequest, journey: Journey) -> SafeString:
    """The picture; nothing to see before two rows are filled in."""
    language = get_language() or ""
    if plate_misfits(request, journey):
        return mark_safe(_drawn(language, misfit=True))  # noqa: S308
    drawing = drawing_of(picture_of(request, journey))
    if drawing is None:
        return mark_safe(_drawn(language))  # noqa: S308
    sizes = [str(round(size)) for size in drawing.picture.sizes_kw]
    drawn = _drawn(
        language,
        summed=True,
        sized=bool(sizes),
        one_size=len(set(sizes)) == 1,
        open_points=bool(drawing.picture.open_points),
    )
    between = {"low_kw": sizes[0], "high_kw": sizes[-1]} if sizes else {}
    return mark_safe(filled(drawn, {**_words(drawing), **between}))  # noqa: S308


def _words(drawing: Drawing) -> dict[str, str]:
    """What stands in the drawing and below it."""
    places = {
        name: getattr(drawing, name) for name in ("running", "start", "start_at", "low", "span")
    }
    places |= {f"tick_{n}": x for n, (x, _kw) in enumerate(drawing.ticks)}
    return {
        **{name: f"{place:.1f}" for name, place in places.items()},
        **{f"tick_{n}_kw": str(kw) for n, (_x, kw) in enumerate(drawing.ticks)},
        "running_kw": floatformat(drawing.picture.running_kw, 0),
        "start_kw": floatformat(drawing.picture.start_kw, 0),
        "points": ", ".join(drawing.picture.open_points),
    }


@lru_cache(maxsize=64)
def _drawn(language: str, **flags: bool) -> str:
    return drawn_with_marks(
        "intake/picture.html",
        *("running", "start", "start_at", "low", "span", "running_kw", "start_kw", "points"),
        *("low_kw", "high_kw"),
        ticks=[{"x": mark(f"tick_{n}"), "kw": mark(f"tick_{n}_kw")} for n in range(3)],
        **flags,
    )


@require_safe
@draft_only
def picture(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """The picture alone, for the pages that fetch it after they are shown."""
    return HttpResponse(picture_html(hire_request, journey_of(hire_request, now=timezone.now())))
