"""Headers that every answer carries, beside those of Django's own middlewares."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

HEADERS = {
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(self), microphone=(), payment=(), usb=()",
}


class HeadersMiddleware:
    """Keep other sites from using our answers, and our pages from using what they do not need."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        return response
