"""The one table of a case's moves, and the one function that makes them."""

from __future__ import annotations

from typing import Any

from django.db.models import F

from intake.desk.errors import CaseChanged, CaseMoveRefused
from intake.models import Case, CaseState

MOVES: dict[str, frozenset[str]] = {
    CaseState.OPEN: frozenset({CaseState.CLAIMED}),
    CaseState.CLAIMED: frozenset(
        {
            CaseState.OPEN,
            CaseState.CLAIMED,
            CaseState.ASKED,
            CaseState.SNOOZED,
            CaseState.RELEASED,
            CaseState.DECLINED,
        }
    ),
    CaseState.ASKED: frozenset({CaseState.OPEN, CaseState.CLAIMED}),
    CaseState.SNOOZED: frozenset({CaseState.OPEN, CaseState.CLAIMED}),
    CaseState.RELEASED: frozenset({CaseState.OPEN}),
    CaseState.DECLINED: frozenset({CaseState.OPEN}),
}


def case_move(*, case: Case, version: int, target: str, **changes: Any) -> None:
    """Move one case, if nobody changed it since ``version``; must hit exactly one row."""
    if target not in MOVES[case.state]:
        raise CaseMoveRefused(origin=case.state, target=target)
    _write(case, version, state=target, **changes)


def case_touch(*, case: Case, version: int, **changes: Any) -> None:
    """Mark a change inside a case, so that whoever still looks at ``version`` is told."""
    _write(case, version, **changes)


def _write(case: Case, version: int, **changes: Any) -> None:
    hit = Case.objects.filter(pk=case.pk, version=version, state=case.state).update(
        version=F("version") + 1, **changes
    )
    if hit != 1:
        raise CaseChanged(version=version)
    for name, value in changes.items():
        setattr(case, name, value)
    case.version = version + 1
