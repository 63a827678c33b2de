"""Counting in windows of time, in the cache.

With the memory of one process each process counts for itself, so set CACHE_URL where there are
several. It shares a machine fairly; it is no wall against an attack.
"""

from __future__ import annotations

from django.core.cache import cache


def counted(what: str, *, window_s: int, now_s: float) -> tuple[int, int]:
    """Count one more; return how many in this window, and the seconds until the next."""
    window, second = divmod(int(now_s), window_s)
    name = f"{what}-{window}"
    cache.add(name, 0, timeout=2 * window_s)
    try:
        count = cache.incr(name)
    except ValueError:  # the entry was thrown out between the two
        count = 1
    return count, window_s - second
