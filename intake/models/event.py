"""The record: what happened, when, by whom. Rows are added, never changed, never deleted."""

from __future__ import annotations

from typing import Any

from django.db import models

from intake.models.request import HireRequest


class AddedOnly(models.QuerySet["Event"]):
    """Rows that are never changed and never deleted."""

    def update(self, **kwargs: Any) -> int:
        raise NotImplementedError("the record is only added to")

    def delete(self) -> tuple[int, dict[str, int]]:
        raise NotImplementedError("the record is only added to")


class Event(models.Model):
    """One fact. ``kind`` is in ``intake/events/kinds.py``, which also turns it into a sentence."""

    at = models.DateTimeField()
    kind = models.CharField(max_length=40)
    actor = models.ForeignKey("auth.User", null=True, blank=True, on_delete=models.PROTECT)
    actor_label = models.CharField(max_length=120)  # "customer", "system" or the person's name
    request = models.ForeignKey(
        HireRequest, null=True, blank=True, on_delete=models.PROTECT, related_name="events"
    )
    subject = models.CharField(max_length=120, blank=True)
    data = models.JSONField(default=dict, blank=True)

    objects = AddedOnly.as_manager()

    class Meta:
        indexes = [models.Index(fields=["request", "at"]), models.Index(fields=["kind", "at"])]
        ordering = ["id"]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.kind}"

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise NotImplementedError("the record is only added to")
