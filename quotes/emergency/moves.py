"""The one table of allowed moves of a need, and the one function that makes them."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db.models import F

from intake.requests.errors import MoveRefused
from quotes.models import Need, NeedState

MOVES: dict[str, frozenset[str]] = {
    NeedState.NEEDED: frozenset({NeedState.PROMISED, NeedState.WITHDRAWN}),
    NeedState.PROMISED: frozenset({NeedState.NEEDED, NeedState.ON_THE_WAY, NeedState.WITHDRAWN}),
    NeedState.ON_THE_WAY: frozenset({NeedState.NEEDED, NeedState.RUNNING, NeedState.WITHDRAWN}),
    NeedState.RUNNING: frozenset({NeedState.NEEDED, NeedState.DONE}),
    NeedState.DONE: frozenset(),
    NeedState.WITHDRAWN: frozenset(),
}


def need_move(*, need_id: int, origin: str, target: str, now: datetime, **fields: Any) -> None:
    """Move one need from ``origin`` to ``target``; must hit exactly one row or nothing happens."""
    if target not in MOVES[NeedState(origin)]:
        raise MoveRefused(origin=origin, target=target)
    moved = Need.objects.filter(pk=need_id, state=origin).update(
        state=target, state_at=now, version=F("version") + 1, **fields
    )
    if moved != 1:
        raise MoveRefused(origin=origin, target=target)
