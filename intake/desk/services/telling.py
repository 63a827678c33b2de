"""Telling other systems about a case."""

from __future__ import annotations

from datetime import datetime

from intake.models import Case
from intake.webhooks.services import webhook_emit


def case_tell(*, kind: str, case: Case, now: datetime) -> None:
    """Tell whoever wants to hear of it; the data names no person."""
    payload = {
        "reference": case.request.reference,
        "state": str(case.state),
        "reason": case.reason,
        "urgent": case.urgent,
        "branch": case.branch_code,
    }
    webhook_emit(kind=kind, payload=payload, now=now)
