"""Writing to a draft: only while it is one, and each change makes a new version."""

from __future__ import annotations

from datetime import datetime

from django.db.models import F

from intake.models import HireRequest, Status
from intake.prepared import A_KEY, A_MOMENT, PreparedUpdate
from intake.requests.errors import MoveRefused

TOUCH = PreparedUpdate(
    lambda pk, now: (
        HireRequest.objects.filter(pk=pk, status=Status.DRAFT),
        {"version": F("version") + 1, "updated_at": now},
    ),
    A_KEY,
    A_MOMENT,
)


def draft_touch(request: HireRequest, *, now: datetime) -> None:
    """Count a change of a draft, or refuse it where the request has been sent meanwhile."""
    if TOUCH.update(request.pk, now) != 1:
        raise MoveRefused(reference=request.reference)
