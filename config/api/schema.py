"""The OpenAPI document: what the views declare, with the key and the problem document added."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.generators import SchemaGenerator

from config.api.links import links_add
from config.api.told import webhooks
from intake.api.keys import SCOPES
from intake.api.operations import PROBLEM_SCHEMA

Document = dict[str, Any]
DESCRIPTION = """\
Ask for, size, price and book towable diesel generator sets.

Send your key as `Authorization: Bearer …`. A call that makes something needs an `Idempotency-Key`
of your own; sent again with the same key it makes nothing twice and is answered the same. A call
that changes something needs `If-Match` with the `ETag` of what you read. Every refusal is a
problem document with a stable `code`. Quantities are texts with their unit, and `unsure` is an
answer. The numbers are a proposal: local codes, the authority having jurisdiction and a licensed
electrician have the last word.
"""
RATE_HEADERS = {
    "RateLimit-Policy": 'Calls allowed and the window in seconds: `"minute";q=120;w=60`.',
    "RateLimit": 'Calls left and seconds until there are more: `"minute";r=119;t=42`.',
}


class KeyScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """How the key is sent."""

    target_class = "intake.api.keys.KeyAuthentication"
    name = "key"

    def get_security_definition(self, auto_schema: Any) -> Document:
        return {"type": "http", "scheme": "bearer", "description": _scopes()}


@lru_cache(maxsize=1)
def schema() -> Document:
    """The document of version 1."""
    generator: Any = SchemaGenerator
    document: Document = generator(api_version="v1").get_schema(request=None, public=True)
    return document


def finished(result: Document, **_: Any) -> Document:
    """Add to the views' own description what holds for all of them."""
    components = result.setdefault("components", {})
    components.setdefault("schemas", {})["Problem"] = PROBLEM_SCHEMA
    result["security"] = [{"key": []}]
    result["info"]["description"] = DESCRIPTION
    for path in result["paths"].values():
        for operation in path.values():
            for status, response in operation["responses"].items():
                response.setdefault("headers", {}).update(_headers(status))
    _close_bodies(result)
    links_add(result)
    result["webhooks"] = webhooks()
    return result


def _close_bodies(result: Document) -> None:
    """A body takes the fields that are named, and no other; a call says which it does not know."""
    for path in result["paths"].values():
        for operation in path.values():
            for given in operation.get("requestBody", {}).get("content", {}).values():
                _close(given["schema"], result["components"]["schemas"])


def _close(part: Any, schemas: Document) -> None:
    if isinstance(part, list):
        for one in part:
            _close(one, schemas)
    elif isinstance(part, dict):
        if "$ref" in part:
            _close(schemas[part["$ref"].rpartition("/")[2]], schemas)
        elif "properties" in part:
            part.setdefault("additionalProperties", False)
        for name, inner in part.items():
            if name not in ("example", "$ref"):
                _close(inner, schemas)


def ours(endpoints: list[Any], **_: Any) -> list[Any]:
    """The addresses of version 1 alone."""
    return [one for one in endpoints if one[0].startswith("/api/v1/")]


def _headers(status: str) -> Document:
    names = {} if status in ("401", "405", "406") else RATE_HEADERS
    return {
        name: {"schema": {"type": "string"}, "description": text} for name, text in names.items()
    }


def _scopes() -> str:
    return "Scopes: " + "; ".join(f"`{name}`: {what}" for name, what in SCOPES.items()) + "."
