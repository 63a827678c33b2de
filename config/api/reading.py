"""The OpenAPI document as a page reads it: operations by group, fields in order."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

Document = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a body, or one parameter."""

    name: str
    kind: str
    required: bool
    about: str


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer of an operation."""

    status: str
    about: str


@dataclass(frozen=True, slots=True)
class Operation:
    """One operation, for the page."""

    id: str
    method: str
    path: str
    summary: str
    parameters: tuple[Field, ...]
    body: tuple[Field, ...]
    example: str
    gives: tuple[Field, ...]
    answers: tuple[Answer, ...]


def operations(schema: Document) -> dict[str, list[Operation]]:
    """All operations by their tag."""
    groups: dict[str, list[Operation]] = {}
    for path, methods in schema["paths"].items():
        for method, given in methods.items():
            groups.setdefault(given["tags"][0], []).append(_operation(schema, path, method, given))
    return groups


def _operation(schema: Document, path: str, method: str, given: Document) -> Operation:
    body = _json_of(given.get("requestBody", {}))
    return Operation(
        id=given["operationId"],
        method=method.upper(),
        path=path,
        summary=given.get("summary", ""),
        parameters=tuple(_parameter(one) for one in given.get("parameters", [])),
        body=tuple(fields(schema, body)),
        example=json.dumps(body["example"], indent=2) if "example" in body else "",
        gives=tuple(_gives(schema, given["responses"])),
        answers=tuple(_answers(given["responses"])),
    )


def _json_of(part: Document) -> Document:
    found: Document = part.get("content", {}).get("application/json", {}).get("schema", {})
    return found


def _parameter(one: Document) -> Field:
    about = one.get("description", "")
    return Field(
        one["name"], f"{kind(one['schema'])}, {one['in']}", bool(one.get("required")), about
    )


def _gives(schema: Document, responses: Document) -> Iterator[Field]:
    for status in ("200", "201"):
        if status in responses:
            yield from fields(schema, _json_of(responses[status]))


def _answers(responses: Document) -> Iterator[Answer]:
    for status, given in sorted(responses.items()):
        about = given.get("description", "")
        yield Answer(status, about or ("Done" if status < "300" else ""))


def fields(schema: Document, part: Document) -> Iterator[Field]:
    """The fields of an object, in the order they are declared."""
    part = resolved(schema, part)
    required = part.get("required", [])
    for name, given in part.get("properties", {}).items():
        whole = resolved(schema, given)
        about = given.get("description", whole.get("description", ""))
        yield Field(name, kind(given), name in required, about)


def resolved(schema: Document, part: Document) -> Document:
    """A part itself, where it is only a reference to one."""
    if "$ref" in part:
        found: Document = schema["components"]["schemas"][part["$ref"].rpartition("/")[2]]
        return found
    return part


def kind(part: Document) -> str:
    """A type in a word or two."""
    if "$ref" in part:
        return str(part["$ref"].rpartition("/")[2])
    if part.get("type") == "array":
        return f"list of {kind(part.get('items', {}))}"
    if "enum" in part:
        return " | ".join(json.dumps(value) for value in part["enum"])
    if "oneOf" in part or "allOf" in part:
        return " or ".join(kind(one) for one in part.get("oneOf", part.get("allOf", [])))
    types = part.get("type", "anything")
    return " or ".join(types) if isinstance(types, list) else str(types)
