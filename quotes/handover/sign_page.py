"""The sign-off page of a phone; it answers a script with JSON and a plain form with a page."""

from __future__ import annotations

from typing import Any, TypeAlias

from django.contrib.auth.models import User
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from intake.desk.access import desk_page
from intake.requests.errors import AnswerRefused, ServiceRefusal
from quotes.acceptance.views import Problem, problems_of
from quotes.emergency.hookup import hook_up_of_order
from quotes.handover.checklist import checklist, items_of
from quotes.handover.desk import unit_or_404
from quotes.handover.errors import SignOffIncomplete
from quotes.handover.facts import head_facts
from quotes.handover.forms import SignForm
from quotes.handover.settling import sent_accessories
from quotes.handover.sign_photos import Photos, sign_off_photos_again
from quotes.handover.signing import Signed, sign_off_receive
from quotes.handover.units import job_of_unit
from quotes.models import AccessoryType, OutUnit, SignOff, SignOffKind
from quotes.models.handover import PhotoSubject

MOST_PIECES = 1000
Received: TypeAlias = "tuple[SignOff | None, list[Problem], int]"  # kept, or what is wrong


@require_http_methods(["GET", "HEAD", "POST"])
@desk_page("work_case")
def sign(web: HttpRequest, number: str, unit: str, kind: str) -> HttpResponse:
    """Sign for a unit at delivery or on return."""
    assert isinstance(web.user, User)
    if kind not in SignOffKind.values:
        raise Http404
    out = unit_or_404(web.user, number, unit)
    form = SignForm(web.POST, kind=kind) if web.method == "POST" else SignForm(kind=kind)
    only_photos = "only_photos" in web.POST
    problems = problems_of(form) if form.is_bound and not only_photos else []
    if form.is_bound and not problems:
        taken = _photos(web, out, kind) if only_photos else _received(web, out, kind, form)
        made, problems, status = taken
        if made is not None:
            return _done(web, number, made, status)
    if _by_script(web) and form.is_bound:
        told = [{"id": one.field_id, "message": str(one.message)} for one in problems]
        return JsonResponse({"problems": told}, status=422)
    return _page(web, out, kind, form, problems)


@require_safe
def worker(web: HttpRequest) -> HttpResponse:
    """The script that keeps the sign-off page on the phone; it stands where its pages do."""
    response = render(web, "quotes/handover/worker.js", content_type="text/javascript")
    response.headers["Cache-Control"] = "no-cache"
    return response


def _by_script(web: HttpRequest) -> bool:
    return web.headers.get("X-Sent-By") == "script"


def _done(web: HttpRequest, number: str, made: SignOff, status: int) -> HttpResponse:
    """Say that it is kept, and to a script which photos are not; the page of the order says it."""
    target = reverse("quotes:desk_order", args=[number])
    if _by_script(web):
        return JsonResponse({"done": target, "missing": made.missing_words}, status=status)
    return redirect(target)


def _received(web: HttpRequest, out: OutUnit, kind: str, form: SignForm) -> Received:
    assert isinstance(web.user, User)
    try:
        made, new = sign_off_receive(
            out_unit_id=out.pk,
            signed=_signed(web, out, kind, form),
            photos=_sent_photos(web),
            driver=web.user,
            now=timezone.now(),
        )
    except ServiceRefusal as refusal:
        return _refused(refusal)
    return made, [], 201 if new else 200


def _photos(web: HttpRequest, out: OutUnit, kind: str) -> Received:
    """Photos alone, of what is signed for already."""
    try:
        made = sign_off_photos_again(
            out_unit_id=out.pk,
            kind=kind,
            client_key=web.POST.get("client_key", ""),
            photos=_sent_photos(web),
        )
    except ServiceRefusal as refusal:
        return _refused(refusal)
    return made, [], 200


def _sent_photos(web: HttpRequest) -> Photos:
    return {name: web.FILES.getlist(f"photo_{name}") for name in PhotoSubject.values}


def _refused(refusal: ServiceRefusal) -> Received:
    if isinstance(refusal, SignOffIncomplete | AnswerRefused):
        return None, _problems(refusal.data.get("problems", {})), 422
    return None, [Problem("main", str(refusal))], refusal.status_code


def _problems(found: dict[str, list[str]]) -> list[Problem]:
    named = {"photo": "photo_fuel", "connector": "id_connector", "name": "id_name"}
    return [
        Problem(named.get(key, f"tick-{key}"), message)
        for key, messages in found.items()
        for message in messages
    ]


def _signed(web: HttpRequest, out: OutUnit, kind: str, form: SignForm) -> Signed:
    data = {**form.cleaned_data}
    data["signed_at"] = data["signed_at"] or timezone.now()
    keys = items_of(job_of_unit(out), kind)
    notes = {key: str(web.POST.get(f"note-{key}", "")).replace("\x00", "") for key in keys}
    return Signed(
        kind=kind,
        ticked=frozenset(key for key in keys if web.POST.get(f"tick-{key}") == "on"),
        notes={key: text for key, text in notes.items() if text.strip()},
        accessories=_counted(web, out),
        **data,
    )


def _counted(web: HttpRequest, out: OutUnit) -> dict[str, int]:
    """Pieces of each accessory as counted; what is not a number counts as none."""
    found = {}
    for code in sent_accessories(out.order.quote):
        typed = str(web.POST.get(f"count-{code}", ""))
        found[code] = min(int(typed), MOST_PIECES) if typed.isdecimal() and len(typed) < 5 else 0
    return found


def _page(
    web: HttpRequest, out: OutUnit, kind: str, form: SignForm, problems: list[Problem]
) -> HttpResponse:
    names = dict(AccessoryType.objects.values_list("code", "name"))
    posted = web.POST
    groups = [
        {"title": group.title, "items": [_row(item, posted) for item in group.items]}
        for group in checklist(job_of_unit(out), kind)
    ]
    context: dict[str, Any] = {
        **head_facts(out),
        "order": out.order,
        "out": out,
        "kind": kind,
        "groups": groups,
        "counts": [
            {"code": code, "name": names.get(code, code), "sent": sent,
             "value": posted.get(f"count-{code}", sent)}
            for code, sent in sent_accessories(out.order.quote).items()
        ],
        "form": form,
        "problems": problems,
        "signed": out.sign_offs.filter(kind=kind).first(),
        "subjects": PhotoSubject.choices,
        "driver": web.user,
        "returns": kind == SignOffKind.RETURN,
        **({} if kind == SignOffKind.RETURN else hook_up_of_order(out.order)),
    }  # fmt: skip
    status = 422 if form.is_bound else 200
    return render(web, "quotes/handover/sign.html", context, status=status)


def _row(item: Any, posted: Any) -> dict[str, Any]:
    return {
        "item": item,
        "ticked": posted.get(f"tick-{item.key}") == "on",
        "note": posted.get(f"note-{item.key}", ""),
    }
