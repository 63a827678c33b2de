"""Addresses of other systems that are told what happened, and each telling."""

from __future__ import annotations

import secrets
import uuid

from django.core.validators import ProhibitNullCharactersValidator
from django.db import models
from django.db.models import Q


def salt() -> str:
    """What makes one webhook's secret unlike another's."""
    return secrets.token_hex(32)


class WebhookEndpoint(models.Model):
    """Where to tell, and of what. The secret is derived and never stored: see ``secrets.py``."""

    name = models.CharField(
        max_length=80, unique=True, validators=[ProhibitNullCharactersValidator()]
    )
    url = models.CharField(max_length=500, validators=[ProhibitNullCharactersValidator()])
    kinds = models.JSONField(default=list)
    active = models.BooleanField(default=True)
    off_reason = models.CharField(max_length=200, blank=True)
    secret_salt = models.CharField(max_length=64, default=salt, editable=False)
    secret_generation = models.PositiveIntegerField(default=1)
    earlier_secret_until = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.name


class WebhookDelivery(models.Model):
    """One thing told to one address. Its id is the ``webhook-id``, the same at every try."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    endpoint = models.ForeignKey(
        WebhookEndpoint, on_delete=models.CASCADE, related_name="deliveries"
    )
    kind = models.CharField(max_length=40)
    body = models.TextField()  # to the byte what is signed and sent
    created_at = models.DateTimeField()
    attempts = models.PositiveIntegerField(default=0)
    last_status = models.PositiveIntegerField(null=True, blank=True)
    last_error = models.CharField(max_length=200, blank=True)
    next_at = models.DateTimeField(null=True, blank=True)
    delivered_at = models.DateTimeField(null=True, blank=True)
    given_up_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = [
            models.Index(fields=["endpoint", "-created_at"]),
            models.Index(fields=["created_at"], name="webhook_delivery_age"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(delivered_at__isnull=True) | Q(given_up_at__isnull=True),
                name="delivered_or_given_up",
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} to {self.endpoint}"
