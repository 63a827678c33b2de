"""Who may see a request's pages: whoever holds its link. To others they are not there."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone

from intake.models import HireRequest, Status
from intake.requests.errors import LinkRefused, MoveRefused
from intake.requests.links import COOKIE, request_opened
from intake.requests.selectors import given_read_once

CustomerView = Callable[..., HttpResponseBase]
Response = TypeVar("Response", bound=HttpResponseBase)


def holder_of_link(view: CustomerView) -> CustomerView:
    """Give the view the request that its address names, if the browser holds the request's key."""

    @wraps(view)
    def opened(web: HttpRequest, reference: str, **path: Any) -> HttpResponseBase:
        try:
            found = request_opened(
                reference=reference, token=web.COOKIES.get(COOKIE), now=timezone.now()
            )
        except LinkRefused:
            return link_refused(web)
        return kept_private(view(web, found, **path))

    return opened


def draft_only(view: CustomerView) -> CustomerView:
    """A page of the intake, open until the request is sent; then it leads to where it stands."""

    @wraps(view)
    def opened(web: HttpRequest, hire_request: HireRequest, **path: Any) -> HttpResponseBase:
        if hire_request.status != Status.DRAFT:
            return redirect("intake:status", reference=hire_request.reference)
        if web.method != "POST":  # a page that only shows reads its rows once
            given_read_once(hire_request)
        try:
            return view(web, hire_request, **path)
        except MoveRefused:
            return redirect("intake:status", reference=hire_request.reference)

    return holder_of_link(opened)


def link_refused(web: HttpRequest) -> HttpResponse:
    """The page for a link that opens nothing, with what to do now."""
    return kept_private(render(web, "intake/link_refused.html", status=404))


def kept_private(response: Response) -> Response:
    """Keep a request's page out of caches, search engines and the addresses sent to others."""
    response.headers["Cache-Control"] = "no-store"
    response.headers["Referrer-Policy"] = "same-origin"
    response.headers["X-Robots-Tag"] = "noindex, nofollow"
    return response
