"""A program's own key: what it may, until when, and its successor."""

from __future__ import annotations

from datetime import timedelta
from typing import Any, cast

from rest_framework.request import Request
from rest_framework.response import Response

from intake.api.documents import moment
from intake.api.idempotency import SecretResponse, idempotent
from intake.api.keys import key_rotate
from intake.api.operations import IDEMPOTENCY, operation
from intake.api.reading import fields_read
from intake.api.shapes import keys as shapes
from intake.api.view import ApiView
from intake.models import ApiKey

TAG = "key"


def key_document(key: ApiKey) -> dict[str, Any]:
    """A key without what opens anything."""
    person = key.client.acts_as
    return {
        "client": key.client.name,
        "start": key.start,
        "scopes": list(key.scopes),
        "acts_as": person.get_username() if person else "",
        "organisation": str(key.client.organisation or ""),
        "created_at": moment(key.created_at),
        "expires_at": moment(key.expires_at),
    }


class OwnKey(ApiView):
    scope = None

    @operation("Read your own key", TAG, {200: shapes.KeyShape}, id="read_key")
    def get(self, request: Request) -> Response:
        return Response(key_document(cast(ApiKey, request.auth)))


class KeyRotation(ApiView):
    scope = None

    @operation(
        "Make the successor of your key", TAG, {201: shapes.NewKey}, id="rotate_key",
        body=shapes.RotationAsked, takes=(IDEMPOTENCY,),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request) -> Response:
        asked = fields_read(shapes.RotationAsked, request)
        overlap = timedelta(hours=asked["overlap_hours"])
        made, text = key_rotate(key=cast(ApiKey, request.auth), now=self.now, overlap=overlap)
        shown = key_document(made)
        return SecretResponse({**shown, "key": text}, kept={**shown, "key": None})
