"""What gunicorn runs to measure floors: our pages behind all our middlewares, the bare views
behind those that a new Django project has, in one process. Each answer says what it cost."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.bench.floor_settings")

from django.conf import settings
from django.core.handlers.wsgi import WSGIHandler
from django.test.utils import override_settings

from config.wsgi import application as ours

FLOOR = "/floor/"


def floor_handler() -> WSGIHandler:
    with override_settings(MIDDLEWARE=settings.STOCK_MIDDLEWARE):
        return WSGIHandler()


floor = floor_handler()


def application(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
    """One request, with its processor time in a header: other processes weigh little on it."""
    begun = time.thread_time()

    def start(status: str, headers: list[tuple[str, str]], *more: Any) -> Any:
        spent_ms = 1000 * (time.thread_time() - begun)
        return start_response(status, [*headers, ("X-Processor-Ms", f"{spent_ms:.3f}")], *more)

    handler = floor if environ["PATH_INFO"].startswith(FLOOR) else ours
    return handler(environ, start)
