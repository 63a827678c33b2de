"""A worker's application with tasks that are slow, or deadly, and the acts of the tests.

Run as `python -m tests.faults.acts put TOPIC SECONDS`, or `again`, in an installation's
environment.
"""

from __future__ import annotations

import os
import signal
import sys
import time
from pathlib import Path

import django
from django.apps import apps
from django.conf import settings
from django.utils import timezone

from config.celery import app
from tests.faults.plant import GO

if not apps.ready:
    django.setup()

from intake.outbox.once import handles_once

SLOW = "tests.slow"
DEADLY = "tests.deadly"


def note(line: str) -> None:
    """Leave a line that no roll-back undoes, so that a test sees who began."""
    with (Path(settings.SETWRIGHT_HOME) / "begun").open("a") as begun:
        begun.write(f"{line}\n")


@app.task(name=SLOW)
@handles_once(SLOW)
def slow(seconds: float) -> None:
    """Write an effect, then take a while, so that a kill falls between effect and mark.

    It ends early once a test lets it go.
    """
    from intake.models import Event

    Event.objects.create(at=timezone.now(), kind="slow_effect", actor_label="test")
    note(str(os.getpid()))
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline and not (Path(settings.SETWRIGHT_HOME) / GO).exists():
        time.sleep(0.05)


@app.task(name=DEADLY)
@handles_once(DEADLY)
def deadly(seconds: float) -> None:
    """Kill the process that runs it, as the kernel does to one that takes too much memory."""
    note(str(os.getpid()))
    time.sleep(seconds)
    os.kill(os.getpid(), signal.SIGKILL)


def put(topic: str, seconds: str) -> None:
    from django.db import transaction

    from intake.outbox.services import outbox_put

    with transaction.atomic():
        outbox_put(topic=topic, payload={"seconds": float(seconds)}, now=timezone.now())


def again(times: str = "2") -> None:
    """Give the broker every message once more, so often, as a relay that forgot would."""
    from intake.models import OutboxMessage
    from intake.outbox.relay import celery_send

    for message in list(OutboxMessage.objects.all()) * int(times):
        celery_send(message)


if __name__ == "__main__":
    {"put": put, "again": again}[sys.argv[1]](*sys.argv[2:])
