"""Every refusal of the API as a problem document (RFC 9457), with the code of what refused."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.core.exceptions import PermissionDenied, RequestDataTooBig, ValidationError
from django.db import OperationalError
from django.http import Http404
from rest_framework import exceptions
from rest_framework.response import Response

from intake.requests.errors import AnswerRefused, ServiceRefusal
from sizing.errors import DocumentRefused, SizingError
from sizing.nameplate import NameplateRefused

MEDIA_TYPE = "application/problem+json"
TITLES = {
    400: "The call cannot be read",
    401: "A key is needed",
    403: "Not allowed",
    404: "Not found",
    405: "Not a method of this address",
    406: "Not a format of this address",
    409: "It does not stand where this can be done",
    412: "It was changed in the meantime",
    413: "Too large",
    415: "Not a format that is read here",
    422: "Something in it must be put right",
    428: "Say which version you saw",
    429: "Too many calls",
    503: "Busy",
}


class PreconditionRequired(ServiceRefusal):
    code = "precondition_required"
    status_code = 428
    sentence = "Send If-Match with the ETag of what you last read."


class PreconditionFailed(ServiceRefusal):
    code = "precondition_failed"
    status_code = 412
    sentence = "It was changed since you read it. Read it again; nothing was written."


class QuotaExceeded(ServiceRefusal):
    code = "quota_exceeded"
    status_code = 429
    sentence = "Too many calls. Wait as long as Retry-After says."


class FieldsRefused(ServiceRefusal):
    """Fields of a call that must be put right: ``errors`` are pointer, code and sentence."""

    code = "fields_refused"
    status_code = 422
    sentence = "Some fields must be put right."

    def __init__(self, errors: list[dict[str, str]]) -> None:
        super().__init__()
        self.errors = errors


def problem_handler(error: Exception, context: dict[str, Any]) -> Response | None:
    """The answer to what a view raised; ``None`` for a defect, which stays a 500."""
    path = context["request"].path if context.get("request") is not None else ""
    found = _problem(error)
    if found is None:
        return None
    status, code, detail, more = found
    document = {
        "type": f"/api/v1/#problem-{code}",
        "title": TITLES.get(status, "Refused"),
        "status": status,
        "detail": detail,
        "instance": path,
        "code": code,
        **more,
    }
    response = Response(document, status=status, content_type=MEDIA_TYPE)
    for name, value in _headers(error).items():
        response.headers[name] = value
    return response


Found = tuple[int, str, str, dict[str, Any]]


def _problem(error: Exception) -> Found | None:
    if isinstance(error, (FieldsRefused, AnswerRefused, ServiceRefusal)):
        return error.status_code, error.code, str(error), _refusal_more(error)
    if isinstance(error, (DocumentRefused, NameplateRefused)):
        errors = [error_item(p.path, p.code, p.message) for p in error.problems]
        return 422, error.code, "The document cannot be taken as it is.", {"errors": errors}
    if isinstance(error, SizingError):
        return 422, error.code, str(error), {}
    if isinstance(error, ValidationError):
        return 422, "fields_refused", "Some fields must be put right.", _validation(error)
    if isinstance(error, OperationalError) and "locked" in str(error):
        return 503, "busy", "The database is busy. Send the call again.", {}
    return _framework_problem(error)


def _framework_problem(error: Exception) -> Found | None:
    if isinstance(error, Http404):
        return 404, "not_found", "There is nothing at this address for this key.", {}
    if isinstance(error, PermissionDenied):
        return 403, "permission_denied", "This key may not do this.", {}
    if isinstance(error, RequestDataTooBig):
        return 413, "too_large", "The body is too large. Send less at once.", {}
    if isinstance(error, exceptions.ValidationError):
        errors = list(flat_errors(error.get_full_details()))
        return 422, "fields_refused", "Some fields must be put right.", {"errors": errors}
    if isinstance(error, exceptions.APIException):
        return error.status_code, str(error.get_codes()), str(error.detail), {}
    return None


def _refusal_more(refusal: ServiceRefusal) -> dict[str, Any]:
    if isinstance(refusal, FieldsRefused):
        return {"errors": refusal.errors}
    if isinstance(refusal, AnswerRefused):
        errors = [
            error_item(path, "answer_refused", sentence)
            for path, sentences in refusal.problems.items()
            for sentence in sentences
        ]
        return {"errors": errors}
    return {}


def _validation(error: ValidationError) -> dict[str, Any]:
    if not hasattr(error, "error_dict"):
        return {"errors": [error_item("", "invalid", " ".join(error.messages))]}
    return {
        "errors": [
            error_item(name, "invalid", sentence)
            for name, sentences in error.message_dict.items()
            for sentence in sentences
        ]
    }


def flat_errors(details: Any, path: str = "") -> Iterable[dict[str, str]]:
    """A serializer's problems as a flat list with pointers."""
    if isinstance(details, Mapping) and set(details) == {"message", "code"}:
        where = path.removesuffix(".non_field_errors").removesuffix("non_field_errors")
        yield error_item(where, str(details["code"]), str(details["message"]))
    elif isinstance(details, Mapping):
        for name, inner in details.items():
            yield from flat_errors(inner, f"{path}.{name}" if path else str(name))
    elif isinstance(details, list):
        for inner in details:
            yield from flat_errors(inner, path)


def error_item(path: str, code: str, message: str) -> dict[str, str]:
    """One problem: a JSON pointer (RFC 6901) to the field, the code, and what to do."""
    return {"pointer": pointer(path), "code": code, "detail": str(message)}


def pointer(path: str) -> str:
    """``loads[2].nameplate`` as ``#/loads/2/nameplate``."""
    parts = path.replace("[", ".").replace("]", "").split(".")
    return "#" + "".join(f"/{part}" for part in parts if part)


def _headers(error: Exception) -> dict[str, str]:
    given: dict[str, str] = {}
    if isinstance(error, exceptions.AuthenticationFailed | exceptions.NotAuthenticated):
        given["WWW-Authenticate"] = 'Bearer realm="api"'
    if isinstance(error, QuotaExceeded):
        given["Retry-After"] = str(error.data["wait_s"])
    if isinstance(error, OperationalError):
        given["Retry-After"] = "1"
    return given
