"""After each request, what it left in memory of people's words begins to wait to be forgotten."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from quotes.privacy.forgetting import work_ended


class ForgettingMiddleware:
    """Tell that a piece of work has ended, however it ended."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        try:
            return self.get_response(request)
        finally:
            work_ended()
