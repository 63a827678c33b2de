"""Webhooks kept by a program, as the manager it acts as."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import Http404
from django.urls import reverse
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from intake.api.documents import moment
from intake.api.etags import etag, tagged, version_seen
from intake.api.idempotency import SecretResponse, idempotent
from intake.api.operations import ID, IDEMPOTENCY, IF_MATCH, operation
from intake.api.pages import PageQuery, page_of
from intake.api.reading import fields_read
from intake.api.shapes import webhooks as shapes
from intake.api.shapes.keys import RotationAsked
from intake.api.view import ApiView
from intake.models import WebhookDelivery, WebhookEndpoint
from intake.webhooks.endpoints import (
    endpoint_change,
    endpoint_make,
    endpoint_remove,
    endpoint_rotate,
)
from intake.webhooks.kinds import KINDS
from intake.webhooks.sending import message_id
from intake.webhooks.services import delivery_again

TAG = "webhooks"
DELIVERY = OpenApiParameter(
    "delivery", {"type": "string", "format": "uuid"}, OpenApiParameter.PATH,
    description="Its `id` in the list of deliveries.",
)  # fmt: skip
MODEL = "webhookendpoint"
ACTS = {"GET": "view", "POST": "add", "PATCH": "change", "DELETE": "delete"}


def webhook_document(endpoint: WebhookEndpoint) -> dict[str, Any]:
    """A webhook without its secret."""
    names = ("id", "version", "name", "url", "kinds", "active", "off_reason")
    return {
        **{name: getattr(endpoint, name) for name in names},
        "earlier_secret_until": moment(endpoint.earlier_secret_until),
        "created_at": moment(endpoint.created_at),
    }


def delivery_document(delivery: WebhookDelivery) -> dict[str, Any]:
    """What was told, when, and what came of it."""
    names = ("kind", "attempts", "last_status", "last_error")
    moments = ("created_at", "next_at", "delivered_at", "given_up_at")
    return {
        "id": str(delivery.pk),
        "message_id": message_id(delivery),
        **{name: getattr(delivery, name) for name in names},
        **{name: moment(getattr(delivery, name)) for name in moments},
    }


def with_secret(endpoint: WebhookEndpoint, secret: str) -> Response:
    """A webhook with its new secret, which is shown this once."""
    shown = webhook_document(WebhookEndpoint.objects.get(pk=endpoint.pk))
    response = SecretResponse({**shown, "secret": secret}, kept={**shown, "secret": None})
    response.headers["ETag"] = etag(shown["version"])
    response.headers["Location"] = reverse("api:webhook", args=[endpoint.pk])
    return response


class WebhookView(ApiView):
    """What the views of webhooks share: the manager, and the webhook as the caller saw it."""

    scope = "webhooks"

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        act = ACTS.get(request.method or "", "change")
        if not self.actor.has_perm(f"intake.{act}_{MODEL}"):
            raise PermissionDenied

    def found(self, pk: int) -> WebhookEndpoint:
        endpoint = WebhookEndpoint.objects.filter(pk=pk).first()
        if endpoint is None:
            raise Http404
        return endpoint

    def changed(self, pk: int, act: Callable[..., Any]) -> tuple[WebhookEndpoint, Any]:
        """Change a webhook if it stands as the caller saw it."""
        endpoint = self.found(pk)
        seen = version_seen(self.request, endpoint.version)
        return endpoint, act(endpoint=endpoint, version=seen, actor=self.actor, now=self.now)

    def shown(self, pk: int) -> Response:
        endpoint = self.found(pk)
        return tagged(webhook_document(endpoint), etag(endpoint.version))


class Kinds(WebhookView):
    @operation("List what can be told", TAG, {200: shapes.WebhookKinds}, id="list_webhook_kinds")
    def get(self, request: Request) -> Response:
        return Response(
            {"items": [{"kind": kind, "about": about} for kind, about in KINDS.items()]}
        )


class Webhooks(WebhookView):
    @operation("List webhooks", TAG, {200: shapes.WebhookPage}, id="list_webhooks", query=PageQuery)
    def get(self, request: Request) -> Response:
        return Response(page_of(request, WebhookEndpoint.objects.all(), webhook_document))

    @operation(
        "Add a webhook", TAG, {201: shapes.NewWebhook}, id="make_webhook",
        body=shapes.WebhookAsked, takes=(IDEMPOTENCY,),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request) -> Response:
        asked = fields_read(shapes.WebhookAsked, request)
        return with_secret(*endpoint_make(**asked, actor=self.actor, now=self.now))


class OneWebhook(WebhookView):
    @operation("Read a webhook", TAG, {200: shapes.Webhook}, id="read_webhook", takes=(ID,))
    def get(self, request: Request, id: int) -> Response:
        return self.shown(id)

    @operation(
        "Change a webhook", TAG, {200: shapes.Webhook}, id="change_webhook",
        body=shapes.WebhookChange, takes=(ID, IF_MATCH),
    )  # fmt: skip
    @transaction.atomic
    def patch(self, request: Request, id: int) -> Response:
        asked = fields_read(shapes.WebhookChange, request)
        self.changed(id, lambda **seen: endpoint_change(changes=asked, **seen))
        return self.shown(id)

    @operation("Take away a webhook", TAG, {204: None}, id="remove_webhook", takes=(ID, IF_MATCH))
    @transaction.atomic
    def delete(self, request: Request, id: int) -> Response:
        self.changed(id, endpoint_remove)
        return Response(status=204)


class WebhookSecret(WebhookView):
    @operation(
        "Make a new secret", TAG, {201: shapes.NewWebhook}, id="rotate_webhook_secret",
        body=RotationAsked, takes=(ID, IDEMPOTENCY, IF_MATCH),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request, id: int) -> Response:
        hours = fields_read(RotationAsked, request)["overlap_hours"]
        overlap = timedelta(hours=hours)
        return with_secret(
            *self.changed(id, lambda **seen: endpoint_rotate(overlap=overlap, **seen))
        )


class Deliveries(WebhookView):
    @operation(
        "List what was told", TAG, {200: shapes.DeliveryPage}, id="list_deliveries",
        query=PageQuery, takes=(ID,),
    )  # fmt: skip
    def get(self, request: Request, id: int) -> Response:
        return Response(page_of(request, self.found(id).deliveries.all(), delivery_document))


class DeliveryAttempts(WebhookView):
    @operation(
        "Send again what was given up", TAG, {201: shapes.Delivery}, id="send_delivery_again",
        takes=(ID, DELIVERY, IDEMPOTENCY),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request, id: int, delivery: Any) -> Response:
        found = self.found(id).deliveries.filter(pk=delivery).first()
        if found is None:
            raise Http404
        delivery_again(delivery=found, now=self.now)
        found.refresh_from_db()
        return Response(delivery_document(found), status=201)
