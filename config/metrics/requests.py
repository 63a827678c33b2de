"""How many requests of which route were answered how, and how long that took."""

from __future__ import annotations

import time
from collections.abc import Callable

import structlog
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from prometheus_client import CollectorRegistry, Counter, Histogram

SECONDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.3, 1.0, 3.0, 10.0)
METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})
NO_ROUTE = "none"

registry = CollectorRegistry()
ANSWERED = Counter(
    "setwright_requests",
    "Requests answered, by the name of the route.",
    ("route", "method", "status"),
    registry=registry,
)
TOOK = Histogram(
    "setwright_request_seconds",
    "Time from a request's arrival to its answer, by the name of the route.",
    ("route",),
    buckets=SECONDS,
    registry=registry,
)

log = structlog.get_logger(__name__)


class MetricsMiddleware:
    """Count each request under its route's name: an address would make a series a customer."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        started = time.perf_counter()
        response = self.get_response(request)
        request_counted(request, response.status_code, time.perf_counter() - started)
        return response


def request_counted(request: HttpRequest, status: int, seconds: float) -> None:
    """Add one request to the figures, and to the log where every request is logged."""
    route = request.resolver_match.view_name if request.resolver_match else NO_ROUTE
    method = request.method if request.method in METHODS else "other"
    ANSWERED.labels(route, method, str(status)).inc()
    TOOK.labels(route).observe(seconds)
    if settings.LOG_REQUESTS:
        user = getattr(request, "user", None)
        log.info(
            "request",
            route=route,
            method=method,
            path=request.path,
            status=status,
            ms=round(1000 * seconds, 1),
            user=user.pk if user is not None and user.is_authenticated else None,
            address=request.META.get("REMOTE_ADDR", ""),
        )
