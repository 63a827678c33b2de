"""Writing to a draft: only while it is one, and each change makes a new version."""

from __future__ import annotations

from datetime import datetime

from django.db.models import F

from intake.models import HireRequest, Status
from intake.requests.errors import MoveRefused


def draft_touch(request: HireRequest, *, now: datetime) -> None:
    """Count a change of a draft, or refuse it where the request has been sent meanwhile."""
    touched = HireRequest.objects.filter(pk=request.pk, status=Status.DRAFT).update(
        version=F("version") + 1, updated_at=now
    )
    if touched != 1:
        raise MoveRefused(reference=request.reference)
