"""Versions of what may be changed: given as ETag, asked for as If-Match."""

from __future__ import annotations

from rest_framework.request import Request

from intake.api.problems import PreconditionFailed, PreconditionRequired


def etag(version: int) -> str:
    """A strong tag of a version; the counter never repeats."""
    return f'"{version}"'


def version_seen(request: Request, current: int) -> int:
    """The version a caller saw, which must be the one that stands."""
    given = request.headers.get("If-Match", "").strip()
    if not given:
        raise PreconditionRequired
    if given != "*" and etag(current) not in [part.strip() for part in given.split(",")]:
        raise PreconditionFailed(version=current)
    return current
