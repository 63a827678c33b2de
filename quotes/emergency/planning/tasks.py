"""The task that makes a plan, on the queue ``emergency``."""

from __future__ import annotations

from uuid import UUID

from celery import current_task, shared_task
from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from intake.outbox.services import effect_once, message_failed
from quotes.emergency.planning.errors import EventIsClosed
from quotes.emergency.planning.limits import task_limit_s
from quotes.emergency.planning.making import TOPIC, plan_store, plan_work
from quotes.emergency.planning.turns import turn_held, turn_taken


@shared_task(name=TOPIC, time_limit=task_limit_s(), soft_time_limit=task_limit_s() - 15)
def emergency_plan(event_id: int, reason: str, actor_id: int | None) -> bool:
    """Make the plan of a message once, however often the message comes."""
    return plan_of_message(
        message_id=UUID(current_task.request.id),
        event_id=event_id,
        reason=reason,
        actor_id=actor_id,
    )


def plan_of_message(*, message_id: UUID, event_id: int, reason: str, actor_id: int | None) -> bool:
    """Solve outside any transaction, so that nobody waits; then store, once, with the mark."""
    payload = {"event_id": event_id, "reason": reason, "actor_id": actor_id}
    if not turn_taken(message_id=message_id, payload=payload, now=timezone.now()):
        return False
    actor = User.objects.filter(pk=actor_id).first() if actor_id else None
    try:
        with turn_held(message_id):
            work = plan_work(event_id=event_id, now=timezone.now())
        with transaction.atomic():
            return effect_once(
                message_id=message_id,
                handler=TOPIC,
                effect=lambda: plan_store(
                    work=work, reason=reason, actor=actor, now=timezone.now()
                ),
                clock=timezone.now,
            )
    except EventIsClosed:
        with transaction.atomic():  # nothing is left to plan: done with
            return effect_once(
                message_id=message_id, handler=TOPIC, effect=lambda: None, clock=timezone.now
            )
    except Exception as error:
        message_failed(message_id=message_id, error=error, now=timezone.now())
        raise
