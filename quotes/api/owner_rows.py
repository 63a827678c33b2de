"""What the views of the owner share: who may, one row told and changed, what was made."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

from django.core.exceptions import PermissionDenied
from django.db import models, transaction
from django.http import Http404
from django.urls import reverse
from drf_spectacular.utils import OpenApiParameter, extend_schema_view
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from intake.api.etags import content_tag, tag_seen, tagged
from intake.api.operations import IF_TAG_MATCH, operation
from intake.api.reading import fields_read
from intake.api.view import ApiView
from quotes.tables.changing import row_change

TAG = "owner"
ACTS = {"GET": "view", "POST": "add"}


class OwnerView(ApiView):
    """What the views of the owner share: the manager, and the row as the caller saw it."""

    scope = "owner"
    model: type[models.Model]

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        act = ACTS.get(request.method or "", "change")
        may = f"quotes.{act}_{self.model._meta.model_name}"
        if not self.actor.has_perms([may, "quotes.change_ratecard"]):
            raise PermissionDenied

    def one(self, *, lock: bool = False, **key: Any) -> Any:
        rows = self.model._default_manager.filter(**key)
        row = (rows.select_for_update(of=("self",)) if lock else rows).first()
        if row is None:
            raise Http404
        return row


class OneRow(OwnerView):
    """One row: told as it stands, and changed by who saw it so."""

    keys: ClassVar[dict[str, str]]  # name in the address: field of the row
    change: ClassVar[type[serializers.Serializer[Any]]]  # what a change may say

    def told(self, row: Any) -> dict[str, Any]:
        raise NotImplementedError

    def wanted(self, asked: dict[str, Any], named: dict[str, str]) -> dict[str, Any]:
        """The fields of the row that a change asks for."""
        return asked

    def get(self, request: Request, **named: str) -> Response:
        return shown(self.told(self.one(**self._key(named))))

    @transaction.atomic
    def changed(self, request: Request, **named: str) -> Response:
        """Change a row if it stands as the caller saw it."""
        asked = self.wanted(dict(fields_read(self.change, request)), named)
        row = self.one(lock=True, **self._key(named))
        tag_seen(request, content_tag(self.told(row)))
        row_change(row=row, changes=asked, actor=self.actor, now=self.now)
        return shown(self.told(self.one(**self._key(named))))

    def _key(self, named: dict[str, str]) -> dict[str, Any]:
        return {field: named[name] for name, field in self.keys.items()}


class PatchedRow(OneRow):
    def patch(self, request: Request, **named: str) -> Response:
        return self.changed(request, **named)


class ReplacedRow(OneRow):
    def put(self, request: Request, **named: str) -> Response:
        return self.changed(request, **named)


def row_calls(
    noun: str, name: str, shape: Any, *takes: OpenApiParameter, more: str = ""
) -> Callable[[type[OneRow]], type[OneRow]]:
    """Describe the two calls of a row: it is read, and it is changed."""

    def describe(view: type[OneRow]) -> type[OneRow]:
        read = operation(f"Read {noun}{more}", TAG, {200: shape}, id=f"read_{name}", takes=takes)
        changed = operation(
            f"Change {noun}", TAG, {200: shape}, id=f"change_{name}",
            body=view.change, takes=(*takes, IF_TAG_MATCH),
        )  # fmt: skip
        by = "put" if issubclass(view, ReplacedRow) else "patch"
        described: type[OneRow] = extend_schema_view(get=read, **{by: changed})(view)
        return described

    return describe


def shown(document: dict[str, Any], status: int = 200) -> Response:
    return tagged(document, content_tag(document), status)


def made(document: dict[str, Any], name: str, *args: str) -> Response:
    """What was made, and where it is."""
    response = shown(document, 201)
    response.headers["Location"] = reverse(f"api:{name}", args=args)
    return response
