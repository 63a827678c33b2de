"""Adding to the record."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib.auth.models import User

from intake.events.kinds import KINDS
from intake.models import Event, HireRequest
from intake.prepared_rows import PreparedInsert

ADDED = PreparedInsert(
    Event, "at", "kind", "actor_id", "actor_label", "request_id", "subject", "data"
)


def event_record(
    *,
    kind: str,
    now: datetime,
    actor: User | str,
    request: HireRequest | None = None,
    subject: str = "",
    **data: Any,
) -> None:
    """Add one event, in the transaction of what it tells; by a user, "customer" or "system"."""
    if kind not in KINDS:
        raise KeyError(kind)
    person = actor if isinstance(actor, User) else None
    label = person.get_full_name() or person.get_username() if person else str(actor)
    ADDED.rows(
        [
            (
                now,
                kind,
                person.pk if person else None,
                label,
                request.pk if request else None,
                subject,
                data,
            )
        ]
    )
