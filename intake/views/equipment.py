"""The list of equipment and the buttons on it."""

from __future__ import annotations

from functools import lru_cache

from django.http import Http404, HttpRequest, HttpResponse
from django.middleware.csrf import get_token
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from intake.addresses import address
from intake.marks import drawn_with_marks, filled
from intake.models import HireRequest, RequestLoad
from intake.questions.equipment import EQUIPMENT_KINDS, MOST_ROWS
from intake.questions.form import Problem
from intake.requests.errors import AnswerRefused
from intake.requests.selectors import journey_of, load_complete, load_found, loads_of
from intake.requests.services import load_add, load_copy, load_move, load_remove
from intake.steps.catalogue import EQUIPMENT
from intake.views.access import draft_only
from intake.views.links import frame, next_address
from intake.views.picture import picture_html

MOST_COPIES = 50


@require_http_methods(["GET", "HEAD", "POST"])
@draft_only
def equipment(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """Show the rows; going on needs at least one, and each of them answered."""
    problems: list[Problem] = []
    if web.method == "POST":
        problems = _unfinished(hire_request)
        if not problems:
            journey = journey_of(hire_request, now=timezone.now())
            return redirect(next_address(web, hire_request, journey, EQUIPMENT))
    return equipment_page(web, hire_request, problems)


def equipment_page(web: HttpRequest, request: HireRequest, problems: list[Problem]) -> HttpResponse:
    """The list with its buttons, and what is wrong with it, if anything."""
    journey, token = journey_of(request, now=timezone.now()), get_token(web)
    context = frame(web, request, journey, EQUIPMENT)
    context |= {
        "csrf_token": token,  # one for all forms of the page
        "loads": _lines(request, token),
        "kinds": _kinds_drawn(get_language() or ""),
        "problems": problems,
        "picture": picture_html(request, journey),
    }
    return render(web, "intake/equipment.html", context, status=422 if problems else 200)


@lru_cache(maxsize=16)
def _kinds_drawn(language: str) -> SafeString:
    """A button for each kind of equipment there is."""
    return render_to_string("intake/kinds.html", {"kinds": EQUIPMENT_KINDS.values()})


def _lines(request: HireRequest, token: str) -> SafeString:
    """The rows with their buttons, below each other."""
    loads = loads_of(request)
    drawn = (_line(request, one, token, one is loads[0], one is loads[-1]) for one in loads)
    return mark_safe("".join(drawn))  # noqa: S308


def _line(request: HireRequest, load: RequestLoad, token: str, first: bool, last: bool) -> str:
    complete, typical = load_complete(load), bool(load.typical_code)
    route = ("intake:load_act", request.reference, load.pk)
    words = {
        "number": str(load.pk),
        "quantity": str(load.quantity),
        "name": load.name,
        "plate": load_plate_said(load),
        "token": token,
        "page": address("intake:load", request.reference, load.pk),
        **{act: address(*route, named=act) for act in ("remove", "copy", "up", "down")},
    }
    return filled(_line_drawn(get_language() or "", complete, typical, first, last), words)


@lru_cache(maxsize=64)
def _line_drawn(language: str, complete: bool, typical: bool, first: bool, last: bool) -> str:
    return drawn_with_marks(
        "intake/equipment_line.html",
        *("number", "quantity", "name", "plate", "token", "page", "remove", "copy", "up", "down"),
        complete=complete,
        typical=typical,
        first=first,
        last=last,
    )


def load_plate_said(load: RequestLoad) -> str:
    """What stands for the row's plate, in words."""
    from intake.questions.typical import typical_equipment

    if load.nameplate:
        return load.nameplate
    if load.typical_code:
        return _("Typical: {name}").format(name=typical_equipment()[load.typical_code].name)
    return _("Not sure") if load.nameplate_unsure else _("Not filled in yet")


def _unfinished(request: HireRequest) -> list[Problem]:
    loads = loads_of(request)
    if not loads:
        return [Problem("add-equipment", _("Add at least one piece of equipment."))]
    return [
        Problem(
            f"load-{load.pk}",
            _("{name} is not filled in yet. Open it, or remove it.").format(name=load.name),
        )
        for load in loads
        if not load_complete(load)
    ]


@require_POST
@draft_only
def equipment_add(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """Add an empty row of the chosen kind and open it."""
    kind = web.POST.get("kind", "")
    if kind not in EQUIPMENT_KINDS:
        problem = Problem("add-equipment", _("Choose what kind of equipment to add."))
        return equipment_page(web, hire_request, [problem])
    try:
        load = load_add(request=hire_request, kind=kind, now=timezone.now())
    except AnswerRefused:
        return equipment_page(web, hire_request, [_too_many()])
    return redirect("intake:load", reference=hire_request.reference, load_id=load.pk)


@require_POST
@draft_only
def load_act(web: HttpRequest, hire_request: HireRequest, load_id: int, act: str) -> HttpResponse:
    """Copy, multiply, move or remove one row."""
    load, now = load_of(hire_request, load_id), timezone.now()
    if act == "copy":
        return _copied(web, hire_request, load)
    if act == "remove":
        load_remove(request=hire_request, load=load, now=now)
    else:
        load_move(request=hire_request, load=load, up=act == "up", now=now)
    return redirect("intake:equipment", reference=hire_request.reference)


def _copied(web: HttpRequest, request: HireRequest, load: RequestLoad) -> HttpResponse:
    text = web.POST.get("copies", "1").strip()
    if not (text.isascii() and text.isdigit() and len(text) < 4 and 1 <= int(text) <= MOST_COPIES):
        sentence = _("Enter how many copies, from 1 to {most}.").format(most=MOST_COPIES)
        return equipment_page(web, request, [Problem(f"copies-{load.pk}", sentence)])
    try:
        load_copy(request=request, load=load, copies=int(text), now=timezone.now())
    except AnswerRefused:
        return equipment_page(web, request, [_too_many()])
    return redirect("intake:equipment", reference=request.reference)


def _too_many() -> Problem:
    sentence = _("A request holds up to {most} rows of equipment. Put equal pieces into one row.")
    return Problem("add-equipment", sentence.format(most=f"{MOST_ROWS:,}"))


def load_of(request: HireRequest, load_id: int) -> RequestLoad:
    """A row of this very request."""
    load = load_found(request, load_id)
    if load is None:
        raise Http404
    return load
