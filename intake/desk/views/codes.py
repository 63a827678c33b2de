"""A person's own one-time codes: switch on, switch off."""

from __future__ import annotations

from django.conf import settings
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import mark_safe
from django_otp import login as otp_login
from django_otp import user_has_device

from intake.desk.access import desk_page
from intake.desk.errors import CodeWrong
from intake.desk.second_factor import (
    EVERYBODY,
    code_missing_for_admin,
    signed_in_with_code,
)
from intake.desk.services.codes import device_confirm, device_offered, devices_remove
from intake.desk.sessions import others_end
from intake.qr_code import qr_svg

OFF_REFUSED = (
    "Codes are switched off only by who signed in with one: sign out, sign in with a code "
    "(one from the paper will do), and try again."
)


@desk_page("read_desk", without_code=True)
def codes(request: HttpRequest) -> HttpResponse:
    """Show the state, take a first code, or switch off."""
    assert isinstance(request.user, User)
    if request.method == "POST" and "off" in request.POST:
        if not signed_in_with_code(request):
            return _page(request, request.user, refused=OFF_REFUSED)
        now = timezone.now()
        devices_remove(user=request.user, actor=request.user, now=now)
        others_end(user=request.user, keep=request.session.session_key, now=now)
        return HttpResponseRedirect(reverse("desk:codes"))
    if request.method == "POST":
        return _confirm(request, request.user)
    return _page(request, request.user)


def _confirm(request: HttpRequest, user: User) -> HttpResponse:
    try:
        device, paper = device_confirm(
            user=user, token=request.POST.get("token", ""), now=timezone.now()
        )
    except CodeWrong as refusal:
        return _page(request, user, refused=str(refusal))
    otp_login(request, device)
    others_end(user=user, keep=request.session.session_key, now=timezone.now())
    return render(request, "intake/desk/codes.html", {"on": True, "paper": paper})


def _page(request: HttpRequest, user: User, refused: str = "") -> HttpResponse:
    on = user_has_device(user)
    context = {
        "on": on,
        "refused": refused,
        "needed": code_missing_for_admin(request) and (not on or user.is_staff),
        "with_code": signed_in_with_code(request),
        "everybody": settings.SETWRIGHT_CODES_FOR == EVERYBODY,
    }
    if not on:
        device = device_offered(user=user)
        context["drawing"] = mark_safe(qr_svg(device.config_url))  # noqa: S308 - drawn here, from our own address
        context["secret"] = device.config_url.partition("secret=")[2].partition("&")[0]
    return render(request, "intake/desk/codes.html", context, status=422 if refused else 200)
