"""A customer's request to hire: its answers and loads as rows, saved step by step."""

from __future__ import annotations

from django.core.validators import (
    MaxValueValidator,
    MinValueValidator,
    ProhibitNullCharactersValidator,
)
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from intake.questions.answers import Given


class Status(models.TextChoices):
    """Where a request stands; the allowed moves are in ``intake/requests/status.py``."""

    DRAFT = "draft", _("being written")
    IN_REVIEW = "in_review", _("with a sales rep")
    PRICING = "pricing", _("being priced")
    QUOTED = "quoted", _("quoted")
    ORDERED = "ordered", _("ordered")
    DECLINED = "declined", _("declined")
    WITHDRAWN = "withdrawn", _("withdrawn")
    EXPIRED = "expired", _("expired")


class Organisation(models.Model):
    """A customer that comes back: a contractor, an event company, a public body."""

    name = models.CharField(max_length=200, validators=[ProhibitNullCharactersValidator()])
    public_body = models.BooleanField(default=False)
    email_domain = models.CharField(max_length=200, blank=True)
    created_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.name


class HireRequest(models.Model):
    """One request. The link's token is never stored: it is derived, and only its hash is kept."""

    reference = models.CharField(max_length=12, unique=True)
    token_hash = models.CharField(max_length=64, unique=True)
    link_generation = models.PositiveIntegerField(default=1)
    link_expires_at = models.DateTimeField()
    status = models.CharField(max_length=12, choices=Status.choices, default=Status.DRAFT)
    version = models.PositiveIntegerField(default=1)
    language = models.CharField(max_length=8, default="en")
    organisation = models.ForeignKey(
        Organisation, null=True, blank=True, on_delete=models.PROTECT, related_name="requests"
    )
    branch_code = models.CharField(max_length=20, blank=True)
    created_at = models.DateTimeField()
    updated_at = models.DateTimeField()
    submitted_at = models.DateTimeField(null=True, blank=True)

    # a page that only shows reads these once: intake/requests/selectors.py
    kept_given: dict[str, Given] | None = None
    kept_loads: list[RequestLoad] | None = None

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(status__in=Status.values), name="request_status_known"
            ),
            models.CheckConstraint(
                condition=Q(status__in=[Status.DRAFT, Status.WITHDRAWN, Status.EXPIRED])
                | Q(submitted_at__isnull=False),
                name="request_beyond_draft_was_submitted",
            ),
        ]
        indexes = [models.Index(fields=["status", "submitted_at"])]

    def __str__(self) -> str:
        return self.reference


class Answer(models.Model):
    """One answer as typed. ``unsure`` is an answer of its own; an override keeps who and why."""

    request = models.ForeignKey(HireRequest, on_delete=models.CASCADE, related_name="answers")
    key = models.CharField(max_length=40)
    value = models.JSONField(null=True, blank=True)
    unsure = models.BooleanField(default=False)
    confirmed_by = models.ForeignKey("auth.User", null=True, blank=True, on_delete=models.PROTECT)
    reason = models.CharField(max_length=500, blank=True)
    updated_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["request", "key"], name="one_answer_a_question")
        ]

    def __str__(self) -> str:
        return f"{self.key}={'unsure' if self.unsure else self.value}"


class RequestLoad(models.Model):
    """One row of equipment on a request; the nameplate stays as typed."""

    request = models.ForeignKey(HireRequest, on_delete=models.CASCADE, related_name="loads")
    position = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(0), MaxValueValidator(2000)]
    )
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=20)
    quantity = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1), MaxValueValidator(500)]
    )
    nameplate = models.CharField(max_length=500, blank=True)
    nameplate_unsure = models.BooleanField(default=False)
    draft = models.JSONField(default=dict, blank=True)  # as typed, while it does not read yet
    typical_code = models.CharField(max_length=60, blank=True)
    starting = models.CharField(max_length=24, default="unsure")
    float_switch = models.BooleanField(null=True, blank=True)
    restarts_itself = models.BooleanField(null=True, blank=True)
    demand_percent = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(100)]
    )
    starts_after = models.CharField(max_length=120, blank=True)
    never_with = models.CharField(max_length=120, blank=True)
    confirmed_by = models.ForeignKey("auth.User", null=True, blank=True, on_delete=models.PROTECT)
    reason = models.CharField(max_length=500, blank=True)
    updated_at = models.DateTimeField()

    class Meta:
        ordering = ["position", "id"]

    def __str__(self) -> str:
        return f"{self.quantity} x {self.name}"


class RequestPhoto(models.Model):
    """A photo the customer attached, already checked and re-encoded; private to the request."""

    request = models.ForeignKey(HireRequest, on_delete=models.CASCADE, related_name="photos")
    load = models.ForeignKey(
        RequestLoad, null=True, blank=True, on_delete=models.CASCADE, related_name="photos"
    )
    image = models.FileField(upload_to="photos/%Y/%m/")
    width_px = models.PositiveIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(4000)]
    )
    height_px = models.PositiveIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(4000)]
    )
    bytes_kept = models.PositiveIntegerField(validators=[MaxValueValidator(20_000_000)])
    suggestion = models.JSONField(null=True, blank=True)  # what a reading found, never taken unseen
    added_at = models.DateTimeField()

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"photo {self.pk} of {self.request}"


class SizingRun(models.Model):
    """One run of the method, stored whole: what went in, what came out, which tables and code."""

    request = models.ForeignKey(HireRequest, on_delete=models.CASCADE, related_name="runs")
    number = models.PositiveIntegerField()
    requirement = models.JSONField()
    result = models.JSONField()
    outcome = models.CharField(max_length=20)
    fleet_digest = models.CharField(max_length=64)
    tables_digest = models.CharField(max_length=64)
    code_version = models.CharField(max_length=40)
    made_by = models.ForeignKey("auth.User", null=True, blank=True, on_delete=models.PROTECT)
    made_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["request", "number"], name="runs_are_numbered_once")
        ]
        get_latest_by = "number"

    def __str__(self) -> str:
        return f"{self.request} run {self.number}: {self.outcome}"
