"""The task that builds a quote."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from celery import current_task, shared_task
from django.utils import timezone

from quotes.building.services import TOPIC, quote_build


@shared_task(name=TOPIC)
def build_quote(request_id: int, run_number: int, **extra: Any) -> bool:
    """Build the quote of a sizing run; ``extra`` holds the choices and the reason of a revision."""
    return quote_build(
        message_id=UUID(current_task.request.id),
        request_id=request_id,
        run_number=run_number,
        extra=extra,
        clock=timezone.now,
    )
