"""Work handed to Celery: written with the change it belongs to, published by the relay."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import Q


class OutboxMessage(models.Model):
    """One task to run. ``topic`` is the task's name; the row's id is the task's id."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    topic = models.CharField(max_length=120)
    queue = models.CharField(max_length=20, default="default")
    payload = models.JSONField(default=dict)
    headers = models.JSONField(default=dict, blank=True)
    created_at = models.DateTimeField()
    due_at = models.DateTimeField()
    published_at = models.DateTimeField(null=True, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    parked_at = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveIntegerField(default=0)
    failures = models.PositiveIntegerField(default=0)
    last_error = models.CharField(max_length=500, blank=True)

    class Meta:
        indexes = [
            models.Index(
                fields=["due_at"],
                name="outbox_unpublished",
                condition=Q(published_at__isnull=True, parked_at__isnull=True),
            ),
            models.Index(
                fields=["published_at"],
                name="outbox_unfinished",
                condition=Q(done_at__isnull=True, parked_at__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.topic} {self.id}"


class InboxMark(models.Model):
    """A handler finished a message: written in the same transaction as the handler's effect."""

    message_id = models.UUIDField()
    handler = models.CharField(max_length=120)
    done_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["message_id", "handler"], name="a_message_takes_effect_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.handler} {self.message_id}"
