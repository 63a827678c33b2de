"""Shapes of webhooks and what they were told."""

from __future__ import annotations

from rest_framework import serializers

from intake.api.shapes import Shape
from intake.webhooks.kinds import KINDS

WEBHOOK_KINDS = list(KINDS)


class WebhookKind(Shape):
    kind = serializers.ChoiceField(WEBHOOK_KINDS)
    about = serializers.CharField()


class WebhookKinds(Shape):
    items = WebhookKind(many=True)


class WebhookAsked(Shape):
    name = serializers.CharField(min_length=1, max_length=80)
    url = serializers.CharField(
        max_length=500, help_text="Public, by https; redirects are not followed."
    )
    kinds = serializers.ListField(child=serializers.ChoiceField(WEBHOOK_KINDS), min_length=1)


class WebhookChange(Shape):
    name = serializers.CharField(min_length=1, max_length=80, required=False)
    url = serializers.CharField(max_length=500, required=False)
    kinds = serializers.ListField(
        child=serializers.ChoiceField(WEBHOOK_KINDS), min_length=1, required=False
    )
    active = serializers.BooleanField(required=False)


class Webhook(Shape):
    id = serializers.IntegerField(min_value=1)
    version = serializers.IntegerField(help_text="Also the ETag; send it as If-Match.")
    name = serializers.CharField()
    url = serializers.CharField()
    kinds = serializers.ListField(child=serializers.ChoiceField(WEBHOOK_KINDS))
    active = serializers.BooleanField()
    off_reason = serializers.CharField()
    earlier_secret_until = serializers.DateTimeField(allow_null=True)
    created_at = serializers.DateTimeField()


class NewWebhook(Webhook):
    secret = serializers.CharField(
        allow_null=True, help_text="Shown this once; `null` when the call is repeated."
    )


class WebhookPage(Shape):
    items = Webhook(many=True)
    next_cursor = serializers.CharField(allow_null=True)


class Delivery(Shape):
    id = serializers.UUIDField()
    message_id = serializers.CharField(help_text="The `webhook-id` it is sent under.")
    kind = serializers.ChoiceField(WEBHOOK_KINDS)
    created_at = serializers.DateTimeField()
    attempts = serializers.IntegerField()
    last_status = serializers.IntegerField(allow_null=True)
    last_error = serializers.CharField()
    next_at = serializers.DateTimeField(allow_null=True)
    delivered_at = serializers.DateTimeField(allow_null=True)
    given_up_at = serializers.DateTimeField(allow_null=True)


class DeliveryPage(Shape):
    items = Delivery(many=True)
    next_cursor = serializers.CharField(allow_null=True)
