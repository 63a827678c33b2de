"""Lists by cursor: stable while rows are added, refused where the cursor is not one of ours."""

from __future__ import annotations

import base64
import binascii
from collections.abc import Callable
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request

from intake.api.problems import FieldsRefused, error_item
from intake.api.reading import query_read

DEFAULT_ROWS = 50
MOST_ROWS = 100
LARGEST_ID = 2**63 - 1


class PageQuery(serializers.Serializer[Any]):
    """Query of every list."""

    limit = serializers.IntegerField(
        min_value=1, max_value=MOST_ROWS, default=DEFAULT_ROWS, help_text="Rows of one page."
    )
    cursor = serializers.RegexField(
        r"^[A-Za-z0-9_-]{2,32}$", required=False, help_text="`next_cursor` of the page before."
    )


def page_of(
    request: Request,
    rows: QuerySet[Any, Any],
    document: Callable[[Any], dict[str, Any]],
    asked: dict[str, Any] | None = None,
) -> dict[str, Any]:
    """One page, newest first, and the cursor of the next; ``asked`` is a query read already.

    Rows of values must hold the key, as ``pk``.
    """
    asked = query_read(PageQuery, request) if asked is None else asked
    limit = asked["limit"]
    if cursor := asked.get("cursor"):
        rows = rows.filter(pk__lt=_cursor_read(cursor))
    found: list[Any] = list(rows.order_by("-pk")[: limit + 1])
    more = len(found) > limit
    return {
        "items": [document(row) for row in found[:limit]],
        "next_cursor": _cursor(found[limit - 1]) if more else None,
    }


def _cursor(row: Any) -> str:
    return base64.urlsafe_b64encode(str(row.pk).encode()).decode().rstrip("=")


def _cursor_read(cursor: str) -> int:
    try:
        found = int(base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)).decode("ascii"))
    except (ValueError, binascii.Error):
        found = -1
    if not 0 < found <= LARGEST_ID:
        sentence = "This is no cursor of this list. Begin without one."
        raise FieldsRefused([error_item("cursor", "unknown_cursor", sentence)])
    return found
