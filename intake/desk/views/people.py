"""Who works the desk: roles, branches, and the findings that need two people."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone

from intake.desk.access import desk_page
from intake.desk.roles import ROLES
from intake.desk.services.codes import devices_remove
from intake.desk.services.people import four_eyes_set, staff_set
from intake.desk.words import REASONS
from intake.models import FourEyesRule
from intake.requests.errors import ServiceRefusal


@desk_page("change_staffprofile")
def people(request: HttpRequest) -> HttpResponse:
    """The manager's page of people and of the rule of two."""
    refused = ""
    if request.method == "POST":
        try:
            _save(request)
            return HttpResponseRedirect(reverse("desk:people"))
        except ServiceRefusal as refusal:
            refused = str(refusal)
        except ValidationError as refusal:
            refused = " ".join(refusal.messages)
    return _render(request, refused)


def _save(request: HttpRequest) -> None:
    assert isinstance(request.user, User)
    now = timezone.now()
    if "codes" in request.POST:
        codes = [code[:40] for code in request.POST["codes"].replace(",", " ").split()][:100]
        over_kw = _number(request.POST.get("over_kw", "")) or None
        four_eyes_set(codes=codes, over_kw=over_kw, actor=request.user, now=now)
        return
    person = get_object_or_404(User, pk=_number(request.POST.get("person", "")))
    if "codes_off" in request.POST:
        devices_remove(user=person, actor=request.user, now=now)
        return
    staff_set(
        person=person,
        role=request.POST.get("role", ""),
        branch_codes=request.POST.get("branches", "").replace(",", " ").upper().split(),
        all_branches="all_branches" in request.POST,
        actor=request.user,
        now=now,
    )


def _number(text: str) -> int:
    return int(text[:9]) if text.isdigit() else 0


def _render(request: HttpRequest, refused: str) -> HttpResponse:
    staff = (
        User.objects.filter(is_active=True)
        .select_related("staff_profile")
        .prefetch_related("groups")
        .order_by("username")
    )
    rules = list(FourEyesRule.objects.order_by("code"))
    context = {
        "staff": [(person, {g.name for g in person.groups.all()}) for person in staff],
        "roles": list(ROLES),
        "codes": " ".join(rule.code for rule in rules if rule.code != FourEyesRule.OVER_SIZE),
        "over_kw": next((rule.over_kw for rule in rules if rule.over_kw), ""),
        "known": sorted(REASONS),
        "refused": refused,
    }
    return render(request, "intake/desk/people.html", context, status=422 if refused else 200)
