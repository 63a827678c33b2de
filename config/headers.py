"""Headers that every answer carries, beside those of Django's own middlewares.

The policy lets a page use our own files and nothing else. No page has a style or a script in
itself, so it holds no nonce and is the same for every answer; a view may set a stricter one.
"""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse

POLICY = (
    "default-src 'self'",
    "base-uri 'none'",
    "frame-ancestors 'none'",
    "script-src 'self'",
    "form-action 'self'",
    "img-src 'self' data: blob:",
    "style-src 'self'",
    "object-src 'none'",
)
HEADERS = {
    "Content-Security-Policy": "; ".join(POLICY),
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(self), microphone=(), payment=(), usb=()",
}
FOR_PROGRAMS = ("/api/", "/metrics")


class HeadersMiddleware:
    """Keep other sites from using our answers, and our pages from using what they do not need."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = plain_refused() if in_the_clear(request) else self.get_response(request)
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        return response


def in_the_clear(request: HttpRequest) -> bool:
    """Whether a program sent its key without TLS: a redirect would hide from it that it did."""
    wanted = settings.SECURE_SSL_REDIRECT and not request.is_secure()
    return wanted and request.path.startswith(FOR_PROGRAMS)


def plain_refused() -> HttpResponse:
    problem = {
        "type": "about:blank",
        "title": "Forbidden",
        "status": 403,
        "code": "https_only",
        "detail": "Call this address by https. A key that was sent without TLS is no secret any "
        "more: make a new one.",
    }
    return JsonResponse(problem, status=403, content_type="application/problem+json")
