"""Versions of what may be changed: given as ETag, asked for as If-Match."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from intake.api.problems import PreconditionFailed, PreconditionRequired


def etag(version: int) -> str:
    """A strong tag of a version; the counter never repeats."""
    return f'"{version}"'


def version_seen(request: Request, current: int) -> int:
    """The version a caller saw, which must be the one that stands."""
    tag_seen(request, etag(current))
    return current


def content_tag(document: Any) -> str:
    """A strong tag of what has no counter: the same content, the same tag."""
    text = json.dumps(document, sort_keys=True, separators=(",", ":"), default=str)
    return f'"{hashlib.sha256(text.encode()).hexdigest()[:32]}"'


def tag_seen(request: Request, current: str) -> None:
    """Refuse a change by who did not see what stands now."""
    given = request.headers.get("If-Match", "").strip()
    if not given:
        raise PreconditionRequired
    if given != "*" and current not in [part.strip() for part in given.split(",")]:
        raise PreconditionFailed


def tagged(document: Any, tag: str, status: int = 200) -> Response:
    """A document with its tag."""
    response = Response(document, status=status)
    response.headers["ETag"] = tag
    return response
