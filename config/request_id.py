"""Every request has an id, in its logs, its answer and the tasks it causes."""

import re
import uuid
from collections.abc import Callable

import structlog
from django.http import HttpRequest, HttpResponse

HEADER = "X-Request-ID"
GIVEN = "HTTP_X_REQUEST_ID"  # as the server puts the header among the request's facts
ACCEPTED = re.compile(r"[A-Za-z0-9._-]{8,64}")


class RequestIdMiddleware:
    """Bind the id a caller gave, or a fresh one, to all that happens during the request."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request_id = accepted_request_id(request.META.get(GIVEN, ""))
        request.META["REQUEST_ID"] = request_id
        before = structlog.contextvars.bind_contextvars(request_id=request_id)
        try:
            response = self.get_response(request)
        finally:
            structlog.contextvars.reset_contextvars(**before)
        response.headers[HEADER] = request_id
        return response


def accepted_request_id(given: str) -> str:
    """Return the id given if it is safe to write into a log, else a fresh one."""
    return given if ACCEPTED.fullmatch(given) else uuid.uuid4().hex
