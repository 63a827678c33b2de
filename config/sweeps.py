"""Periodic tasks of the installation itself. Each is a sweep that asks what is due."""

from dataclasses import asdict
from datetime import datetime, timedelta

import structlog
from celery import shared_task
from django.conf import settings

from config.health import canary_sing
from intake.api.idempotency import answers_tidy
from intake.desk.sessions import sessions_tidy
from intake.models import OutboxMessage
from intake.outbox.errors import BrokerAway
from intake.outbox.once import marks_tidy, once_a_slot
from intake.outbox.relay import relay_once
from quotes.privacy import retention

RELAY_LATE = timedelta(seconds=20)

log = structlog.get_logger(__name__)


@shared_task(name="config.sweeps.outbox_sweep")
@once_a_slot("outbox_sweep", every_s=30)
def outbox_sweep(*, now: datetime) -> None:
    """Publish what the relay should have published a while ago, in case it is gone."""
    try:
        sent = relay_once(now=now - RELAY_LATE)
    except BrokerAway:
        return
    if sent:
        log.warning("sweep published for the relay", messages=sent)


@shared_task(name="config.sweeps.canary")
@once_a_slot("canary", every_s=30)
def canary(*, now: datetime) -> None:
    """Show that a worker finishes tasks."""
    canary_sing(now=now)


@shared_task(name="config.sweeps.tidy")
@once_a_slot("tidy", every_s=3600)
def tidy(*, now: datetime) -> None:
    """Delete sessions that are over, and messages and marks that cannot come back."""
    sessions_tidy(now=now)
    kept = timedelta(days=settings.KEEP_MESSAGES_DAYS)
    OutboxMessage.objects.filter(done_at__lt=now - kept).delete()
    marks_tidy(now=now, older_than=kept)
    answers_tidy(now=now)


@shared_task(name="config.sweeps.keep_no_longer")
@once_a_slot("keep_no_longer", every_s=3600)
def keep_no_longer(*, now: datetime) -> None:
    """Take away what has been kept for long enough."""
    log.info("retention", **asdict(retention.sweep(now=now)))
