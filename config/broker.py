"""How tasks travel: the queues, the broker's address and what makes it lose nothing."""

import importlib.util
from typing import Any
from urllib.parse import parse_qs, urlsplit

# In the order in which one worker that serves them all looks at them.
QUEUES = ("emergency", "default", "quotes", "documents", "mail", "webhooks", "ocr")
PHOTO_QUEUE = "ocr"  # reading photos takes memory: a worker of its own serves it, one at a time

RESTORE_INTERVAL_S = 5
SOCKET_TIMEOUT_S = 2
HEALTH_CHECK_S = 30


def broker_url(redis_url: str) -> str:
    """Return a Redis address the way kombu spells it.

    Sockets have a scheme of their own, and a server over TLS must prove who it is: unless told
    ``ssl_cert_reqs``, kombu would encrypt for whoever answers.
    """
    parts = urlsplit(redis_url)
    if parts.scheme == "rediss" and "ssl_cert_reqs" not in parse_qs(parts.query):
        asked = f"{parts.query}&" if parts.query else ""
        return parts._replace(query=f"{asked}ssl_cert_reqs=required").geturl()
    return redis_url.replace("unix://", "redis+socket://", 1)


def broker_options(*, time_limit_s: int) -> dict[str, Any]:
    """Return kombu's options for Redis.

    A message whose worker vanished is offered again when `visibility_timeout` is over, looked
    at every `unacked_restore_interval` seconds. It must be longer than any task may run, else
    a slow task starts a second time while the first still runs. Without socket time-outs, a
    server that accepts a connection and never answers would hold a publisher for ever.
    """
    return {
        "visibility_timeout": time_limit_s + max(5, time_limit_s // 4),
        "unacked_restore_interval": RESTORE_INTERVAL_S,
        "unacked_restore_throttle": 1,
        "queue_order_strategy": "priority",
        "socket_timeout": SOCKET_TIMEOUT_S,
        "socket_connect_timeout": SOCKET_TIMEOUT_S,
        "socket_keepalive": True,
        "health_check_interval": HEALTH_CHECK_S,
    }


def beat_schedule(sweeps: dict[str, int]) -> dict[str, dict[str, Any]]:
    """Return beat's schedule: each sweep every so many seconds, void if not begun by the next."""
    return {
        task: {"task": task, "schedule": float(every_s), "options": {"expires": every_s}}
        for task, every_s in sweeps.items()
    }


def photo_reader_installed() -> bool:
    """Say whether the extra `ocr` is there, without loading it."""
    return all(importlib.util.find_spec(name) for name in ("rapidocr", "onnxruntime"))
