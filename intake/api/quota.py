"""How many calls a client may make: counted by the minute, said in every answer.

The header fields are those of the IETF draft on rate limit headers. The count lives in the cache:
with the memory of one process each process counts for itself, so set CACHE_URL where there are
several. It shares the machine fairly; it is no wall against an attack.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.conf import settings
from django.core.cache import cache

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
    window, second = divmod(int(now.timestamp()), WINDOW_S)
    name = f"api-quota-{client_id}-{window}"
    cache.add(name, 0, timeout=2 * WINDOW_S)
    try:
        count = cache.incr(name)
    except ValueError:  # the entry was thrown out between the two
        count = 1
    limit = int(settings.SETWRIGHT_API_CALLS_PER_MINUTE)
    return Quota(limit, limit - count, WINDOW_S - second)
