"""How many calls a client may make: counted by the minute, said in every answer.

The header fields are those of the IETF draft on rate limit headers. ``intake/counting.py`` says
what the count is worth.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.conf import settings

from intake.counting import counted

WINDOW_S = 60
POLICY = "minute"


@dataclass(frozen=True, slots=True)
class Quota:
    """What is left of a client's minute."""

    limit: int
    left: int
    wait_s: int

    @property
    def over(self) -> bool:
        return self.left < 0

    @property
    def headers(self) -> dict[str, str]:
        return {
            "RateLimit-Policy": f'"{POLICY}";q={self.limit};w={WINDOW_S}',
            "RateLimit": f'"{POLICY}";r={max(0, self.left)};t={self.wait_s}',
        }


def quota_take(client_id: int, *, now: datetime) -> Quota:
    """Count one call of a client."""
    what = f"api-quota-{client_id}"
    count, wait_s = counted(what, window_s=WINDOW_S, now_s=now.timestamp())
    limit = int(settings.SETWRIGHT_API_CALLS_PER_MINUTE)
    return Quota(limit, limit - count, wait_s)
