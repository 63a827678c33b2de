"""What is told to webhooks, as the OpenAPI document describes it."""

from __future__ import annotations

from typing import Any

from intake.webhooks.kinds import KINDS

Document = dict[str, Any]
HEADERS = {
    "webhook-id": "The same at every try: what you have seen you may drop.",
    "webhook-timestamp": "Moment of this try in Unix seconds; refuse what is older than 5 minutes.",
    "webhook-signature": "`v1,` and base64 of HMAC-SHA256 over `id.timestamp.body`; several, "
    "apart by a space, while a secret is changed.",
}


def webhooks() -> Document:
    """One entry for each kind, by Standard Webhooks."""
    return {kind: {"post": _told(kind, about)} for kind, about in KINDS.items()}


def _told(kind: str, about: str) -> Document:
    return {
        "summary": about.capitalize(),
        "operationId": f"told_{kind.replace('.', '_')}",
        "security": [],
        "tags": ["webhooks"],
        "parameters": [
            {"name": name, "in": "header", "required": True, "description": words,
             "schema": {"type": "string"}}
            for name, words in HEADERS.items()
        ],
        "requestBody": {"content": {"application/json": {"schema": _body(kind)}}},
        "responses": {
            "204": {"description": "Taken. Any other answer is tried again, 9 times in 3 days."},
            "410": {"description": "Gone: the webhook is switched off."},
        },
    }  # fmt: skip


def _body(kind: str) -> Document:
    return {
        "type": "object",
        "required": ["type", "timestamp", "data"],
        "properties": {
            "type": {"const": kind},
            "timestamp": {"type": "string", "format": "date-time"},
            "data": {"type": "object", "description": "References, states and codes; no person."},
        },
    }
