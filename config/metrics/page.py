"""The page that shows the figures: to who holds the token, else on this machine alone."""

from __future__ import annotations

import ipaddress
import os

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.crypto import constant_time_compare
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from prometheus_client import CollectorRegistry, generate_latest
from prometheus_client.exposition import CONTENT_TYPE_LATEST
from prometheus_client.multiprocess import MultiProcessCollector

from config.metrics.requests import registry
from config.metrics.work import WorkCollector

FORWARDED = ("X-Forwarded-For", "X-Forwarded-Proto", "Forwarded", "X-Real-IP", "Via")


@never_cache
@require_safe
def metrics(request: HttpRequest) -> HttpResponse:
    """All figures. To a stranger there is nothing here."""
    if not may_read(request):
        raise Http404
    text = generate_latest(requests_registry()) + generate_latest(work_registry())
    return HttpResponse(text, content_type=CONTENT_TYPE_LATEST)


def may_read(request: HttpRequest) -> bool:
    """With a token set, only its holder; without one, only this machine, and not by a proxy."""
    if settings.METRICS_TOKEN:
        given = request.headers.get("Authorization", "")
        return constant_time_compare(given, f"Bearer {settings.METRICS_TOKEN}")
    if not settings.SETWRIGHT_EMBEDDED or any(name in request.headers for name in FORWARDED):
        return False
    return from_this_machine(request.META.get("REMOTE_ADDR", ""))


def from_this_machine(address: str) -> bool:
    try:
        return ipaddress.ip_address(address).is_loopback
    except ValueError:
        return False


def requests_registry() -> CollectorRegistry:
    """What all web processes of this machine counted together, or this one where it is alone."""
    if "PROMETHEUS_MULTIPROC_DIR" not in os.environ:
        return registry
    together = CollectorRegistry()
    MultiProcessCollector(together)  # type: ignore[no-untyped-call]
    return together


def work_registry() -> CollectorRegistry:
    made = CollectorRegistry(auto_describe=False)
    made.register(WorkCollector())
    return made
