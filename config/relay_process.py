"""`setwright relay`: publish the outbox until asked to stop."""

from __future__ import annotations

import os
import signal
import threading
from datetime import datetime

IDLE_S = 0.1
LONGEST_WAIT_S = 15.0


def relay(argv: list[str]) -> int:
    """Publish round by round; between rounds with nothing to do, rest a moment."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    import django

    django.setup()
    from django.utils import timezone

    stop = threading.Event()
    for asked in (signal.SIGINT, signal.SIGTERM):
        signal.signal(asked, lambda number, frame: stop.set())
    rest_s = IDLE_S
    while not stop.wait(rest_s):
        rest_s = relay_round(now=timezone.now(), rested_s=rest_s)
    return 0


def relay_round(*, now: datetime, rested_s: float) -> float:
    """Publish a batch and return the rest to take: none after a full one, longer in trouble."""
    import structlog
    from django.db import Error as DatabaseTrouble
    from django.db import close_old_connections

    from intake.outbox.errors import BrokerAway
    from intake.outbox.relay import BATCH, relay_once

    try:
        sent = relay_once(now=now)
    except (BrokerAway, DatabaseTrouble) as trouble:
        rest_s = min(LONGEST_WAIT_S, max(0.5, rested_s * 2))
        structlog.get_logger(__name__).warning("relay waits", seconds=rest_s, why=str(trouble))
        close_old_connections()
        return rest_s
    return 0.0 if sent == BATCH else IDLE_S
