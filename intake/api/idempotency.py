"""A creating call takes effect once, however often it is sent (IETF draft, Idempotency-Key).

The key is looked up together with the client, so nobody reads another's answer. Key and effect
are one transaction: a call that was refused leaves no key, one that worked leaves its answer.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import wraps
from typing import Any, cast

from django.db import IntegrityError, transaction
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response

from intake.models import ApiClient, IdempotencyRecord
from intake.requests.errors import ServiceRefusal

HEADER = "Idempotency-Key"
PATTERN = r'^([A-Za-z0-9._:\-]{8,128}|"[A-Za-z0-9._:\-]{8,128}")$'
KEPT = timedelta(days=7)
REPEATED = "Idempotent-Replayed"
CARRIED = ("Location", "ETag")
View = Callable[..., Response]


class SecretResponse(Response):
    """An answer with a secret in it, which is shown once: ``kept`` is what is given again."""

    def __init__(self, data: Any, *, kept: Any, status: int = 201) -> None:
        super().__init__(data, status=status)
        self.kept = kept


class KeyMissing(ServiceRefusal):
    code = "idempotency_key_missing"
    status_code = 400
    sentence = (
        "Send Idempotency-Key with a value of your own, 8 to 128 letters, digits or . _ : - "
        "such as a UUID, so that a repeated call makes nothing twice."
    )


class KeyOfAnother(ServiceRefusal):
    code = "idempotency_key_reused"
    status_code = 422
    sentence = "This key was used for another call. Use a new key for a new call."


class KeyInUse(ServiceRefusal):
    code = "idempotency_key_in_use"
    status_code = 409
    sentence = "The first call with this key is still at work. Send it again in a moment."


def idempotent(view: View) -> View:
    """A creating method of a view: done once a key, answered the same ever after."""

    @wraps(view)
    def once(self: Any, request: Request, *args: Any, **kwargs: Any) -> Response:
        client, key, now = cast(ApiClient, request.user), key_of(request), timezone.now()
        mark = fingerprint(request)
        forget_old(client=client, key=key, now=now)
        try:
            with transaction.atomic():
                if earlier := _earlier(client, key):
                    return _again(earlier, mark)
                record = IdempotencyRecord.objects.create(
                    client=client, key=key, fingerprint=mark, created_at=now
                )
                response = view(self, request, *args, **kwargs)
                _keep(record, response)
                return response
        except IntegrityError as error:
            return _lost_the_race(client, key, mark, error)

    return once


def key_of(request: Request) -> str:
    """The key of a call, without the quotes of its structured field."""
    given = request.headers.get(HEADER, "")
    if not re.match(PATTERN, given, re.ASCII):
        raise KeyMissing
    return given.strip('"')


def fingerprint(request: Request) -> str:
    """What tells one call from another: method, address and body in canonical form."""
    seen = [request.method, request.path, request.data, request.headers.get("If-Match", "")]
    text = json.dumps(seen, sort_keys=True, separators=(",", ":"), default=str)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def forget_old(*, client: ApiClient, key: str, now: datetime) -> None:
    """Let go of an answer that is past its time, so that its key is free."""
    IdempotencyRecord.objects.filter(client=client, key=key, created_at__lt=now - KEPT).delete()


def answers_tidy(*, now: datetime) -> None:
    """Delete the answers that are past their time."""
    IdempotencyRecord.objects.filter(created_at__lt=now - KEPT).delete()


def answer_text(answer: Any) -> str:
    """An answer as it is kept: a text, since PostgreSQL would put the fields in another order."""
    return json.dumps(answer, default=str, ensure_ascii=False)


def answer_of(record: IdempotencyRecord) -> Any:
    """The answer that was kept; older ones were kept as documents."""
    return json.loads(record.body) if isinstance(record.body, str) else record.body


def _earlier(client: ApiClient, key: str) -> IdempotencyRecord | None:
    return IdempotencyRecord.objects.filter(client=client, key=key).first()


def _again(record: IdempotencyRecord, mark: str) -> Response:
    if record.fingerprint != mark:
        raise KeyOfAnother
    if record.status is None:
        raise KeyInUse
    response = Response(answer_of(record), status=record.status)
    for name, value in record.headers.items():
        response.headers[name] = value
    response.headers[REPEATED] = "true"
    return response


def _keep(record: IdempotencyRecord, response: Response) -> None:
    record.status = response.status_code
    kept = response.kept if isinstance(response, SecretResponse) else response.data
    record.body = answer_text(kept)
    record.headers = {name: response.headers[name] for name in CARRIED if name in response.headers}
    record.save(update_fields=["status", "body", "headers"])


def _lost_the_race(client: ApiClient, key: str, mark: str, error: IntegrityError) -> Response:
    """Another call with this key was first; where there is none, the error was another's."""
    earlier = _earlier(client, key)
    if earlier is None:
        raise error
    return _again(earlier, mark)
