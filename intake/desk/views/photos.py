"""Photos of a case: the file, and a page that shows it as large as it takes to read a plate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib.auth.models import User
from django.http import FileResponse, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from intake.desk.access import case_of, desk_page
from intake.models import RequestPhoto
from intake.views.equipment import load_plate_said

SIZES = (("fit", "Whole photo", "1"), ("double", "Twice as large", "2"), ("large", "Largest", "3"))


@dataclass(frozen=True, slots=True)
class Size:
    """How large the photo is shown: a class of the style sheet, a label and a key."""

    name: str
    label: str
    key: str
    current: bool


@desk_page("read_desk")
@require_safe
def photo(request: HttpRequest, reference: str, photo_id: int) -> HttpResponseBase:
    """A photo of the request, for those who may see its case."""
    assert isinstance(request.user, User)
    case = case_of(request.user, reference)
    found = get_object_or_404(case.request.photos, pk=photo_id)
    return FileResponse(found.image.open("rb"), content_type="image/jpeg")


@desk_page("read_desk")
@require_safe
def photo_look(request: HttpRequest, reference: str, photo_id: int) -> HttpResponse:
    """The photo as large as asked for, beside what was typed and read from it."""
    assert isinstance(request.user, User)
    case = case_of(request.user, reference)
    photos = list(case.request.photos.select_related("load").order_by("pk"))
    shown = get_object_or_404(case.request.photos.select_related("load"), pk=photo_id)
    context = {"case": case, "shown": shown, **_beside(photos, shown), **_sizes(request)}
    return render(request, "intake/desk/photo.html", context)


def _beside(photos: list[RequestPhoto], shown: RequestPhoto) -> dict[str, Any]:
    """The photos before and after, the heading and the plate that belongs to the photo."""
    place = photos.index(shown)
    of = f", {shown.load.name}" if shown.load else ""
    return {
        "heading": f"Photo {place + 1} of {len(photos)}{of}",
        "plate": load_plate_said(shown.load) if shown.load else "",
        "before": photos[place - 1] if place else None,
        "after": photos[place + 1] if place + 1 < len(photos) else None,
    }


def _sizes(request: HttpRequest) -> dict[str, Any]:
    asked = request.GET.get("size", "")
    current = asked if asked in {name for name, _, _ in SIZES} else SIZES[0][0]
    return {
        "current": current,
        "sizes": [Size(name, label, key, name == current) for name, label, key in SIZES],
    }
