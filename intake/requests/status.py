"""The one table of allowed moves of a request, and the one function that makes them."""

from __future__ import annotations

from django.db.models import F

from intake.models import HireRequest, Status
from intake.prepared import A_KEY, PreparedUpdate
from intake.requests.errors import MoveRefused

MOVE = PreparedUpdate(
    lambda pk, origin, target: (
        HireRequest.objects.filter(pk=pk, status=origin),
        {"status": target, "version": F("version") + 1},
    ),
    A_KEY,
    "origin",
    "target",
)
MOVES: dict[str, frozenset[str]] = {
    Status.DRAFT: frozenset({Status.IN_REVIEW, Status.PRICING, Status.WITHDRAWN, Status.EXPIRED}),
    Status.IN_REVIEW: frozenset({Status.PRICING, Status.DECLINED, Status.WITHDRAWN}),
    Status.PRICING: frozenset({Status.QUOTED, Status.IN_REVIEW, Status.WITHDRAWN}),
    Status.QUOTED: frozenset(
        {
            Status.ORDERED,
            Status.IN_REVIEW,
            Status.PRICING,
            Status.DECLINED,
            Status.WITHDRAWN,
            Status.EXPIRED,
        }
    ),
    Status.EXPIRED: frozenset({Status.IN_REVIEW, Status.PRICING}),
    Status.ORDERED: frozenset({Status.IN_REVIEW}),
    Status.DECLINED: frozenset({Status.IN_REVIEW}),
    Status.WITHDRAWN: frozenset(),
}


def request_move(*, request_id: int, origin: str, target: str) -> None:
    """Move one request from ``origin`` to ``target``: exactly one row, or nothing happens."""
    if target not in MOVES[origin]:
        raise MoveRefused(origin=origin, target=target)
    if MOVE.update(request_id, origin, target) != 1:
        raise MoveRefused(origin=origin, target=target)
