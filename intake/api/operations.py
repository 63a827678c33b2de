"""How an operation is described in the schema: its answers, headers and problems, in one call."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema

from intake.api.idempotency import PATTERN

IF_MATCH = OpenApiParameter(
    "If-Match", str, OpenApiParameter.HEADER, required=True,
    description="ETag of what you last read.",
    pattern='^("[0-9]{1,9}"|\\*)$',
)  # fmt: skip
IF_TAG_MATCH = OpenApiParameter(
    "If-Match", str, OpenApiParameter.HEADER, required=True,
    description="ETag of what you last read.",
    pattern='^("[0-9a-f]{32}"|\\*)$',
)  # fmt: skip
IDEMPOTENCY = OpenApiParameter(
    "Idempotency-Key", str, OpenApiParameter.HEADER, required=True, pattern=PATTERN,
    description="A value of your own, such as a UUID. The answer is kept for seven days.",
)  # fmt: skip
REFERENCE = OpenApiParameter(
    "reference", str, OpenApiParameter.PATH, pattern="^[A-Z0-9]{4}-[A-Z0-9]{4}$"
)
ID = OpenApiParameter(
    "id", {"type": "integer", "minimum": 1, "maximum": 2147483647}, OpenApiParameter.PATH
)
ALWAYS = (401, 403, 404, 405, 406, 429, 503)
WITH_BODY = (400, 413, 415, 422)
Decorator = Callable[[Any], Any]


def operation(
    summary: str,
    tag: str,
    answers: dict[Any, Any],
    *,
    id: str,
    body: Any = None,
    takes: tuple[OpenApiParameter, ...] = (),
    query: Any = None,
    problems: tuple[int, ...] = (),
) -> Decorator:
    """Describe one operation; the problems every call may meet are added by themselves."""
    bodied = (*WITH_BODY,) if body is not None or IDEMPOTENCY in takes else ()
    matched = (412, 428) if {IF_MATCH, IF_TAG_MATCH} & set(takes) else ()
    queried = (422,) if query is not None else ()
    made = (409,) if IDEMPOTENCY in takes else ()
    codes = sorted({*ALWAYS, *bodied, *matched, *queried, *made, *problems})
    responses: dict[Any, Any] = {
        **answers,
        **{(code, "application/problem+json"): problem_response() for code in codes},
    }
    parameters: list[Any] = [*takes, *([query] if query is not None else [])]
    return extend_schema(
        operation_id=id, summary=summary, tags=[tag], request=body, responses=responses,
        parameters=parameters,
    )  # fmt: skip


def problem_response() -> OpenApiResponse:
    """What every problem looks like."""
    return OpenApiResponse(response=PROBLEM, description="Problem document (RFC 9457)")


def pdf_response() -> OpenApiResponse:
    return OpenApiResponse(response=OpenApiTypes.BINARY, description="The document")


PROBLEM: dict[str, Any] = {"$ref": "#/components/schemas/Problem"}
PROBLEM_SCHEMA: dict[str, Any] = {
    "type": "object",
    "description": "RFC 9457. `code` is stable; `detail` is a sentence for people.",
    "required": ["type", "title", "status", "detail", "instance", "code"],
    "properties": {
        "type": {"type": "string", "format": "uri-reference"},
        "title": {"type": "string"},
        "status": {"type": "integer", "minimum": 400, "maximum": 599},
        "detail": {"type": "string"},
        "instance": {"type": "string"},
        "code": {"type": "string"},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["pointer", "code", "detail"],
                "properties": {
                    "pointer": {"type": "string"},
                    "code": {"type": "string"},
                    "detail": {"type": "string"},
                },
            },
        },
    },
}
