"""A quote: numbered revisions, each stored whole with lines, steps and the terms it was made by."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from intake.models import HireRequest, SizingRun
from quotes.models.fleet import Branch
from quotes.models.rates import RateCard
from quotes.pricing.terms import LineKind

MONEY: dict[str, Any] = {"max_digits": 12, "decimal_places": 2, "default": Decimal("0.00")}


class QuoteState(models.TextChoices):
    """The allowed moves are in ``quotes/building/moves.py``."""

    BUILDING = "building", _("being priced")
    OFFERED = "offered", _("open for acceptance")
    ACCEPTED = "accepted", _("accepted")
    DECLINED = "declined", _("declined")
    SUPERSEDED = "superseded", _("replaced by a newer revision")
    EXPIRED = "expired", _("expired")
    REFERRED = "referred", _("referred to a sales rep")


class Quote(models.Model):
    """One revision. ``message_id`` is the message that asked for it: a second delivery finds it."""

    request = models.ForeignKey(HireRequest, on_delete=models.PROTECT, related_name="quotes")
    revision = models.PositiveIntegerField()
    message_id = models.UUIDField(unique=True)
    state = models.CharField(max_length=12, choices=QuoteState.choices, default=QuoteState.BUILDING)
    run = models.ForeignKey(SizingRun, on_delete=models.PROTECT, related_name="quotes")
    branch = models.ForeignKey(
        Branch, null=True, blank=True, on_delete=models.PROTECT, related_name="quotes"
    )
    card = models.ForeignKey(
        RateCard, null=True, blank=True, on_delete=models.PROTECT, related_name="quotes"
    )
    starts_on = models.DateField(null=True, blank=True)
    ends_on = models.DateField(null=True, blank=True)
    choices = models.JSONField(default=dict, blank=True)
    content = models.JSONField(
        default=dict, blank=True
    )  # what page and document show besides lines
    reason = models.CharField(max_length=300, blank=True)  # why this revision was made
    net = models.DecimalField(**MONEY)
    tax = models.DecimalField(**MONEY)
    total = models.DecimalField(**MONEY)
    deposit = models.DecimalField(**MONEY)
    terms_version = models.CharField(max_length=20, blank=True)
    valid_until = models.DateTimeField(null=True, blank=True)
    created_at = models.DateTimeField()
    offered_at = models.DateTimeField(null=True, blank=True)
    reminded_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["request_id", "revision"]
        constraints = [
            models.UniqueConstraint(fields=["request", "revision"], name="one_quote_a_revision"),
            models.UniqueConstraint(
                fields=["request"], condition=Q(state="offered"), name="one_open_offer_a_request"
            ),
            models.CheckConstraint(
                condition=Q(state__in=QuoteState.values), name="quote_state_known"
            ),
            models.CheckConstraint(
                condition=~Q(state__in=["offered", "accepted"]) | Q(valid_until__isnull=False),
                name="offer_has_a_last_moment",
            ),
        ]
        indexes = [
            models.Index(fields=["state", "-id"], name="quotes_by_state"),
            models.Index(fields=["branch", "-id"], name="quotes_by_branch"),
            models.Index(
                fields=["valid_until"], name="quote_open_until", condition=Q(state="offered")
            ),
        ]

    def __str__(self) -> str:
        return f"{self.request} revision {self.revision}"

    @property
    def number(self) -> str:
        return f"{self.request.reference}-{self.revision}"


class QuoteLine(models.Model):
    """One line; its amount is rounded and part of the total."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=20, choices=[(kind, kind) for kind in LineKind])
    code = models.CharField(max_length=60)
    label = models.CharField(max_length=160)
    quantity = models.DecimalField(max_digits=12, decimal_places=2)
    unit = models.CharField(max_length=20, blank=True)
    unit_price = models.DecimalField(**MONEY)
    amount = models.DecimalField(**MONEY)
    why = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["quote", "position"], name="one_line_a_position")
        ]

    def __str__(self) -> str:
        return f"{self.label}: {self.amount}"


class QuoteTax(models.Model):
    """One tax on the lines of some kinds."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="taxes")
    position = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=80)
    line_kinds = models.CharField(max_length=160)
    percent = models.DecimalField(max_digits=6, decimal_places=4)
    base = models.DecimalField(**MONEY)
    amount = models.DecimalField(**MONEY)
    exempt = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering = ["position"]

    def __str__(self) -> str:
        return f"{self.name}: {self.amount}"


class PriceStep(models.Model):
    """One intermediate step of the price, with its reason, as it was worked out."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="steps")
    position = models.PositiveSmallIntegerField()
    line = models.CharField(max_length=60)
    label = models.CharField(max_length=120)
    working = models.CharField(max_length=300)
    amount = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    reason = models.TextField(blank=True)

    class Meta:
        ordering = ["position"]

    def __str__(self) -> str:
        return f"{self.label}: {self.working}"


class BuildStep(models.Model):
    """Progress of a build, one row a step: a killed worker's successor goes on from there."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="build_steps")
    position = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=30)
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["position"]
        constraints = [models.UniqueConstraint(fields=["quote", "name"], name="one_step_a_name")]

    def __str__(self) -> str:
        return f"{self.name} of {self.quote}"


class QuoteDocument(models.Model):
    """The PDF as it was made; the same bytes whenever it is asked for."""

    quote = models.OneToOneField(Quote, on_delete=models.CASCADE, related_name="document")
    content = models.BinaryField()
    sha256 = models.CharField(max_length=64)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"document of {self.quote}"
