"""What follows an offer: the acceptance as a record, the order, and the bookings of units."""

from __future__ import annotations

from django.core.validators import ProhibitNullCharactersValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from intake.models import HireRequest
from quotes.models.fleet import Unit
from quotes.models.quote import Quote


class OrderState(models.TextChoices):
    CONFIRMED = "confirmed", _("confirmed")
    OFF_HIRE = "off_hire", _("off hire")
    CANCELLED = "cancelled", _("cancelled")


class Order(models.Model):
    """An accepted quote."""

    number = models.CharField(max_length=20, unique=True)
    request = models.OneToOneField(HireRequest, on_delete=models.PROTECT, related_name="order")
    quote = models.OneToOneField(Quote, on_delete=models.PROTECT, related_name="order")
    state = models.CharField(
        max_length=12, choices=OrderState.choices, default=OrderState.CONFIRMED
    )
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.number


class Acceptance(models.Model):
    """Who accepted, in which words and when. Written once, never changed."""

    order = models.OneToOneField(Order, on_delete=models.PROTECT, related_name="acceptance")
    name = models.CharField(max_length=120, validators=[ProhibitNullCharactersValidator()])
    role = models.CharField(
        max_length=120, blank=True, validators=[ProhibitNullCharactersValidator()]
    )
    purchase_order = models.CharField(
        max_length=60, blank=True, validators=[ProhibitNullCharactersValidator()]
    )
    terms_version = models.CharField(max_length=20)
    total = models.DecimalField(max_digits=12, decimal_places=2)
    document_sha256 = models.CharField(max_length=64)
    accepted_at = models.DateTimeField()
    address = models.GenericIPAddressField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.name} for {self.order}"


class Booking(models.Model):
    """One unit held from ``starts_on`` until ``free_on``, the first day it may go out again.

    Held for an order, or for a need of an emergency that has no order yet.

    No two bookings of a unit that stand may overlap: an exclusion constraint on PostgreSQL, a
    check inside the one writing transaction on SQLite.
    """

    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="bookings")
    order = models.ForeignKey(
        Order, null=True, blank=True, on_delete=models.PROTECT, related_name="bookings"
    )
    need = models.ForeignKey(
        "quotes.Need", null=True, blank=True, on_delete=models.PROTECT, related_name="bookings"
    )
    starts_on = models.DateField()
    ends_on = models.DateField()
    free_on = models.DateField()
    made_at = models.DateTimeField()
    cancelled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_on__gte=F("starts_on"), free_on__gt=F("ends_on")),
                name="booking_runs_forward",
            ),
            models.CheckConstraint(
                condition=Q(order__isnull=False) | Q(need__isnull=False),
                name="booking_is_for_somebody",
            ),
        ]
        indexes = [
            models.Index(
                fields=["unit", "starts_on", "free_on"],
                name="bookings_that_stand",
                condition=Q(cancelled_at__isnull=True),
            )
        ]

    def __str__(self) -> str:
        return f"{self.unit} {self.starts_on} to {self.ends_on}"


class CustomerWord(models.Model):
    """What a customer said instead of accepting: why declined, or what to change."""

    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, related_name="words")
    kind = models.CharField(
        max_length=10, choices=[("decline", _("decline")), ("change", _("change"))]
    )
    words = models.TextField(max_length=2000, validators=[ProhibitNullCharactersValidator()])
    said_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.kind} of {self.quote}"
