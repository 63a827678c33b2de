"""Reading a call's body: JSON within bounds, and nothing in it that a database would choke on."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import IO, Any, NoReturn

from django.conf import settings
from rest_framework import serializers
from rest_framework.exceptions import APIException, ParseError
from rest_framework.parsers import JSONParser
from rest_framework.request import Request

from intake.api.problems import FieldsRefused, error_item, flat_errors

DEEPEST = 30


class TooLarge(APIException):
    status_code = 413
    default_code = "too_large"
    default_detail = "The body is too large."


class BoundedJson(JSONParser):
    """JSON of a bounded size and depth, with finite numbers and storable text."""

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        raw = stream.read(most + 1)
        if len(raw) > most:
            raise TooLarge
        try:
            document = json.loads(raw.decode("utf-8"), parse_constant=_no_constant)
        except (ValueError, RecursionError) as error:
            raise ParseError(f"The body is not JSON as it is read here: {error}") from error
        try:
            _storable(document)
        except ValueError as error:
            sentence = f"This cannot be kept: {error}."
            raise FieldsRefused([error_item("", "not_storable", sentence)]) from error
        return document


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def _storable(value: Any, depth: int = 0) -> None:
    if depth > DEEPEST:
        raise ValueError("nested too deep")
    if isinstance(value, str):
        if "\x00" in value:
            raise ValueError("a text holds the character NUL")
        value.encode("utf-8")
    elif isinstance(value, Mapping):
        for name, inner in value.items():
            _storable(name)
            _storable(inner, depth + 1)
    elif isinstance(value, list):
        for inner in value:
            _storable(inner, depth + 1)
    elif isinstance(value, float) and abs(value) > 1e300:
        raise ValueError("a number is too large")


def body_object(request: Request) -> dict[str, Any]:
    """The body as an object with fields."""
    if not isinstance(request.data, dict):
        sentence = "Send a JSON object with fields."
        raise FieldsRefused([error_item("", "not_an_object", sentence)])
    return dict(request.data)


def fields_read(serializer_class: type[serializers.Serializer[Any]], request: Request) -> Any:
    """The body through a serializer; fields it does not know are named too, all at once."""
    return _read(serializer_class, body_object(request))


def query_read(serializer_class: type[serializers.Serializer[Any]], request: Request) -> Any:
    """The query likewise: an empty value is no value left out, and none is given twice."""
    twice = [name for name, values in request.query_params.lists() if len(values) > 1]
    if twice:
        raise FieldsRefused([error_item(name, "given_twice", "Give it once.") for name in twice])
    return _read(serializer_class, request.query_params.dict())


def _read(serializer_class: type[serializers.Serializer[Any]], body: dict[str, Any]) -> Any:
    serializer = serializer_class(data=body)
    known = serializer.fields
    others = [
        error_item(name, "unknown_field", f"There is no field “{name}”; use {', '.join(known)}.")
        for name in body
        if name not in known
    ]
    try:
        serializer.is_valid(raise_exception=True)
    except serializers.ValidationError as error:
        raise FieldsRefused([*flat_errors(error.get_full_details()), *others]) from error
    if others:
        raise FieldsRefused(others)
    return serializer.validated_data
