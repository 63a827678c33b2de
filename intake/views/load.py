"""One row of equipment: its page, the live reading of its plate, its keeping while typed."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from intake.models import HireRequest, RequestLoad
from intake.photos.services import LARGEST_BYTES, photo_add, photo_sentence
from intake.questions.answers import Given
from intake.questions.equipment import EQUIPMENT_KINDS, NAMEPLATE, TYPICAL, equipment_questions
from intake.questions.form import Problem
from intake.questions.load_form import LoadForm
from intake.questions.row import Row
from intake.requests.equipment import load_given
from intake.requests.errors import AnswerRefused, VersionConflict
from intake.requests.plates import plate_reading
from intake.requests.selectors import journey_of, load_found, load_stamp, loads_of
from intake.requests.services import load_keep, load_save
from intake.steps.catalogue import CHECK, EQUIPMENT
from intake.views.access import draft_only
from intake.views.equipment import load_of
from intake.views.links import RETURN, TO_CHECK, frame, step_address
from intake.views.photo import TOO_LARGE, bounded_upload
from intake.views.photo_reading import USE_BUTTON, readings_context, text_taken
from intake.views.step import SEEN, differences, kept

PHOTO = "photo"
PHOTO_BUTTON = "add_photo"
LOOK_BUTTON = "look_again"


@require_http_methods(["GET", "HEAD", "POST"])
@bounded_upload
@draft_only
def load_page(web: HttpRequest, hire_request: HireRequest, load_id: int) -> HttpResponse:
    """Ask about one row, or take the answers and show the list."""
    load = load_found(hire_request, load_id)
    if load is None:
        return redirect("intake:equipment", reference=hire_request.reference)
    if web.method != "POST":
        return _page(web, hire_request, load, _form(hire_request, load))
    form = _form(hire_request, load, web.POST)
    if USE_BUTTON in web.POST:
        return text_taken(web, hire_request, load, form.as_typed(), web.POST.get(SEEN, ""))
    if LOOK_BUTTON in web.POST:
        return _typed_and_back(web, hire_request, load, form)
    photo_problems = _photo_taken(web, hire_request, load)
    if PHOTO_BUTTON in web.POST and not photo_problems:
        return _typed_and_back(web, hire_request, load, form)
    valid = form.is_valid()
    problems = [*(form.problems() if PHOTO_BUTTON not in web.POST else []), *photo_problems]
    if not valid or problems:
        return _page(web, hire_request, load, form, status=422, problems=problems)
    return _saved(web, hire_request, load, form)


def _photo_taken(web: HttpRequest, request: HireRequest, load: RequestLoad) -> list[Problem]:
    """Take the photo that came along, if any; returns what is wrong with it."""
    upload = web.FILES.get(PHOTO)
    if not isinstance(upload, UploadedFile):
        missing = PHOTO_BUTTON in web.POST
        return [Problem("q-photo", _("Choose a photo first."))] if missing else []
    try:
        photo_add(request=request, load=load, upload=upload, now=timezone.now())
    except AnswerRefused as refusal:
        return [Problem("q-photo", sentence) for sentence in refusal.problems["photo"]]
    return []


def _typed_and_back(
    web: HttpRequest, request: HireRequest, load: RequestLoad, form: LoadForm
) -> HttpResponse:
    """A photo was added in the middle of typing: keep what was typed and show the page again."""
    with suppress(VersionConflict):
        typed = load_given(load) | form.as_typed()
        load_keep(
            request=request, load=load, typed=typed, seen=web.POST.get(SEEN, ""),
            now=timezone.now(),
        )  # fmt: skip
    return HttpResponseRedirect(f"{web.get_full_path()}#q-photo")


def _saved(
    web: HttpRequest, request: HireRequest, load: RequestLoad, form: LoadForm
) -> HttpResponse:
    try:
        load_save(
            request=request, load=load, given=form.given(), seen=web.POST.get(SEEN, ""),
            now=timezone.now(),
        )  # fmt: skip
    except VersionConflict as conflict:
        questions = equipment_questions(load.kind, _others(request, load))
        clash = differences(questions, conflict.data["theirs"], form.given())
        return _page(web, request, load, form, status=409, clash=clash)
    to_check = web.GET.get(RETURN) == TO_CHECK
    return HttpResponseRedirect(step_address(request, CHECK if to_check else EQUIPMENT))


def _form(request: HireRequest, load: RequestLoad, data: Any = None) -> LoadForm:
    return LoadForm(load.kind, load_given(load), _others(request, load), data)


def _others(request: HireRequest, load: RequestLoad) -> tuple[str, ...]:
    return tuple(other.name for other in loads_of(request) if other.name != load.name)


def _page(
    web: HttpRequest,
    request: HireRequest,
    load: RequestLoad,
    form: LoadForm,
    *,
    status: int = 200,
    **more: Any,
) -> HttpResponse:
    journey = journey_of(request, now=timezone.now())
    typed = str(form.shown("nameplate"))
    context = frame(web, request, journey, EQUIPMENT)
    context |= {
        "back": step_address(request, CHECK if web.GET.get(RETURN) == TO_CHECK else EQUIPMENT),
        "load": load,
        "kind": EQUIPMENT_KINDS[load.kind],
        **_questions(form.rows()),
        "seen": load_stamp(load),
        "photo_bytes": LARGEST_BYTES,
        "photo_sentence": photo_sentence(TOO_LARGE),
        "reading": plate_reading(typed, load.kind, journey.answers),
        **readings_context(request, load, typed),
        **more,
    }
    if web.method != "POST" and web.GET.get(PHOTO) == TOO_LARGE:
        context["problems"] = [Problem("q-photo", photo_sentence(TOO_LARGE))]
    problems = context.get("problems", [])
    context["photo_problems"] = [p for p in problems if p.field_id == "q-photo"]
    return render(web, "intake/load.html", context, status=status)


def _questions(rows: Iterable[Row]) -> dict[str, Any]:
    """The rows of the plate and of what stands in for it, and the others below each other."""
    by_key = {row.question.key: row for row in rows}
    plate, typical = by_key.pop(NAMEPLATE.key), by_key.pop(TYPICAL.key, None)
    others = "\n  ".join(row.html for row in by_key.values())
    return {"plate": plate, "typical": typical, "questions": mark_safe(others)}  # noqa: S308


@require_POST
@draft_only
def load_kept(web: HttpRequest, hire_request: HireRequest, load_id: int) -> HttpResponse:
    """Keep a row as it is being typed."""
    load = load_of(hire_request, load_id)
    typed: dict[str, Given] = load_given(load) | _form(hire_request, load, web.POST).as_typed()
    try:
        seen = load_keep(
            request=hire_request, load=load, typed=typed, seen=web.POST.get(SEEN, ""),
            now=timezone.now(),
        )  # fmt: skip
    except VersionConflict:
        return kept(web, "", _("Changed in another tab. Press Continue to choose which to keep."))
    return kept(web, seen, _("Saved. You can come back with your link."))


@require_POST
@draft_only
def plate_read(web: HttpRequest, hire_request: HireRequest, load_id: int) -> HttpResponse:
    """Say what was understood of a plate, while it is being typed."""
    load = load_of(hire_request, load_id)
    journey = journey_of(hire_request, now=timezone.now())
    reading = plate_reading(web.POST.get("nameplate", ""), load.kind, journey.answers)
    return render(web, "intake/plate_reading.html", {"reading": reading})
