"""How often one address may send a form that anybody can send.

Counted by the hour; ``intake/counting.py`` says what the count is worth. Calls from this machine
itself are not counted. It keeps one visitor from filling the database or flooding a mailbox.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import structlog
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from config.metrics.page import from_this_machine
from intake.counting import counted

WINDOW_S = 3600

log = structlog.get_logger(__name__)


class ThrottleMiddleware:
    """Refuse a form that came from one address too often; the browser's way back keeps it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, *view: Any) -> HttpResponse | None:
        route = request.resolver_match.view_name if request.resolver_match else ""
        most = settings.FORMS_AN_HOUR.get(route)
        address = request.META.get("REMOTE_ADDR", "")
        if most is None or request.method != "POST" or from_this_machine(address):
            return None
        wait_s = over_the_limit(route, address, most=most, now_s=time.time())
        return too_many(request, route, wait_s) if wait_s else None


def over_the_limit(route: str, address: str, *, most: int, now_s: float) -> int:
    """Count one form; return the seconds to wait where it is one too many, else 0."""
    what = f"form-{route}-{address}"
    count, wait_s = counted(what, window_s=WINDOW_S, now_s=now_s)
    return wait_s if count > most else 0


def too_many(request: HttpRequest, route: str, wait_s: int) -> HttpResponse:
    log.warning("form refused, too many", route=route)
    response = render(request, "429.html", {"minutes": max(1, wait_s // 60)}, status=429)
    response.headers["Retry-After"] = str(wait_s)
    return response
