"""Who may see a public body's pages: whoever holds its link. To others they are not there."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from intake.requests.errors import LinkRefused
from intake.views.access import kept_private
from quotes.acceptance.views import problems_of
from quotes.emergency.organisations.forms import LinkAgainForm
from quotes.emergency.organisations.services import COOKIE, body_by_token, body_link_ask
from quotes.models import PublicBody

COOKIE_PATH = "/emergency/"
View = Callable[..., HttpResponseBase]


def body_of(web: HttpRequest) -> PublicBody | None:
    """The public body whose key the browser holds, if it holds one."""
    try:
        return body_by_token(web.COOKIES.get(COOKIE, ""), now=timezone.now())
    except LinkRefused:
        return None


def for_public_body(view: View) -> View:
    """Give the view the public body that is signed in; else the way to sign in, as a 404."""

    @wraps(view)
    def opened(web: HttpRequest, **path: Any) -> HttpResponseBase:
        body = body_of(web)
        if body is None:
            return key_missing(web)
        return kept_private(view(web, body, **path))

    return opened


def key_missing(web: HttpRequest) -> HttpResponse:
    """The page for whoever has no valid link, with what to do now."""
    context = {"form": LinkAgainForm()}
    return kept_private(render(web, "quotes/emergency/key_missing.html", context, status=404))


@require_safe
def body_enter(web: HttpRequest, token: str) -> HttpResponse:
    """Take the key from the link, keep it for these pages, show a clean address."""
    try:
        body = body_by_token(token, now=timezone.now())
    except LinkRefused:
        return key_missing(web)
    response = redirect("quotes:sites")
    response.set_cookie(
        COOKIE,
        token,
        expires=body.link_expires_at,
        path=COOKIE_PATH,
        secure=web.is_secure(),
        httponly=True,
        samesite="Lax",
    )
    return kept_private(response)


@require_http_methods(["GET", "HEAD", "POST"])
def link_again(web: HttpRequest) -> HttpResponse:
    """Send the link again. The answer is the same whether the address is on file or not."""
    form = LinkAgainForm(web.POST if web.method == "POST" else None)
    sent = False
    if form.is_bound and form.is_valid():
        body_link_ask(address=form.cleaned_data["email"], now=timezone.now())
        sent = True
    problems = problems_of(form) if form.is_bound else []
    context = {"form": form, "sent": sent, "problems": problems}
    status = 422 if problems else 200
    return render(web, "quotes/emergency/link_again.html", context, status=status)
