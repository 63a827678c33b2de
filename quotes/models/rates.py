"""What the owner charges: rate cards with their rates, fees and vehicles; taxes, certificates."""

from __future__ import annotations

from datetime import time
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from intake.models import Organisation
from quotes.models.fleet import CODE, Branch
from quotes.pricing.days import OWNERS_USUAL_HOLIDAYS
from quotes.pricing.terms import FeeCode, LineKind

PRICE: dict[str, Any] = {"max_digits": 10, "decimal_places": 2}
NOT_NEGATIVE = [MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(10_000_000))]
FACTOR: dict[str, Any] = {"max_digits": 5, "decimal_places": 2}
STATE = RegexValidator(r"^[A-Z]{2}$", _("Give the two letters of the state."))


def usual_holidays() -> list[str]:
    return list(OWNERS_USUAL_HOLIDAYS)


class RateCard(models.Model):
    """One dated price list of a branch, or of every branch that has none of its own."""

    code = models.CharField(max_length=40, unique=True, validators=[CODE])
    name = models.CharField(max_length=120)
    branch = models.ForeignKey(
        Branch, null=True, blank=True, on_delete=models.PROTECT, related_name="rate_cards"
    )
    valid_from = models.DateField()
    valid_until = models.DateField(null=True, blank=True)
    in_use = models.BooleanField(default=True)
    minimum_days = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1), MaxValueValidator(60)]
    )
    day_hours = models.DecimalField(**FACTOR, default=Decimal(8), validators=[MinValueValidator(1)])
    week_hours = models.DecimalField(
        **FACTOR, default=Decimal(40), validators=[MinValueValidator(1)]
    )
    four_week_hours = models.DecimalField(
        **FACTOR, default=Decimal(160), validators=[MinValueValidator(1)]
    )
    double_factor = models.DecimalField(
        **FACTOR, default=Decimal("1.5"), validators=[MinValueValidator(1)]
    )
    triple_factor = models.DecimalField(
        **FACTOR, default=Decimal(2), validators=[MinValueValidator(1)]
    )
    road_factor = models.DecimalField(
        **FACTOR,
        default=Decimal("1.3"),
        validators=[MinValueValidator(1), MaxValueValidator(3)],
        help_text=_("Road miles to straight miles."),
    )
    sundays_free = models.BooleanField(default=False)
    holidays_free = models.BooleanField(default=False)
    holidays_kept = models.JSONField(default=usual_holidays, blank=True)
    off_hire_cutoff = models.TimeField(default=time(10))
    valid_days = models.PositiveSmallIntegerField(
        default=14, validators=[MinValueValidator(1), MaxValueValidator(180)]
    )
    adjustment_limit_percent = models.DecimalField(
        **FACTOR, default=Decimal(10), validators=[MaxValueValidator(100)]
    )
    larger_at_asked_price = models.BooleanField(
        default=True,
        help_text=_("When the asked set is not free: a larger one at the asked one's price."),
    )
    terms_version = models.CharField(max_length=20, default="1")
    terms_text = models.TextField(blank=True)

    class Meta:
        ordering = ["-valid_from", "code"]
        constraints = [
            models.CheckConstraint(
                condition=Q(valid_until__isnull=True) | Q(valid_until__gte=F("valid_from")),
                name="card_ends_after_it_starts",
            )
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Refuse two cards in use for one branch on one day: which one counts must be plain."""
        if not self.in_use or self.valid_from is None:
            return
        others = RateCard.objects.filter(branch=self.branch, in_use=True).exclude(pk=self.pk)
        others = others.filter(Q(valid_until__isnull=True) | Q(valid_until__gte=self.valid_from))
        if self.valid_until is not None:
            others = others.filter(valid_from__lte=self.valid_until)
        other = others.first()
        if other is not None:
            raise ValidationError(
                _("%(card)s is in use on some of these days; end it first.") % {"card": other}
            )


class Rate(models.Model):
    """Prices of a set or an accessory on a card, by its code."""

    card = models.ForeignKey(RateCard, on_delete=models.CASCADE, related_name="rates")
    item_code = models.CharField(max_length=40, validators=[CODE])
    day = models.DecimalField(**PRICE, validators=NOT_NEGATIVE)
    week = models.DecimalField(**PRICE, validators=NOT_NEGATIVE)
    four_weeks = models.DecimalField(**PRICE, validators=NOT_NEGATIVE)
    once = models.DecimalField(
        **PRICE,
        null=True,
        blank=True,
        validators=NOT_NEGATIVE,
        help_text=_("Price where it is sold, not hired."),
    )

    class Meta:
        ordering = ["item_code"]
        constraints = [
            models.UniqueConstraint(fields=["card", "item_code"], name="one_rate_an_item"),
            models.CheckConstraint(
                condition=Q(day__gte=0, week__gte=0, four_weeks__gte=0), name="rates_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item_code} on {self.card}"

    def clean(self) -> None:
        """Refuse a week dearer than seven days, or four weeks dearer than four weeks apart."""
        if None in (self.day, self.week, self.four_weeks):
            return
        if self.week > 7 * self.day:
            raise ValidationError({"week": _("A week costs more than seven days.")})
        if self.four_weeks > 4 * self.week:
            raise ValidationError({"four_weeks": _("Four weeks cost more than four times a week.")})


class CardFee(models.Model):
    """A fee on a card; what kind of figure the amount is follows from the code."""

    card = models.ForeignKey(RateCard, on_delete=models.CASCADE, related_name="fees")
    code = models.CharField(max_length=30, choices=[(code, code) for code in FeeCode])
    amount = models.DecimalField(
        **PRICE, validators=NOT_NEGATIVE, help_text=_("Dollars, or percent for a share.")
    )
    quantity = models.DecimalField(**FACTOR, default=Decimal(1), validators=NOT_NEGATIVE)
    minimum = models.DecimalField(**PRICE, null=True, blank=True, validators=NOT_NEGATIVE)
    cap = models.DecimalField(**PRICE, null=True, blank=True, validators=NOT_NEGATIVE)

    class Meta:
        ordering = ["code"]
        constraints = [models.UniqueConstraint(fields=["card", "code"], name="one_fee_a_code")]

    def __str__(self) -> str:
        return f"{self.code} on {self.card}"

    def clean(self) -> None:
        if self.minimum is not None and self.cap is not None and self.minimum > self.cap:
            raise ValidationError({"cap": _("The most is less than the least.")})
        if self.code == FeeCode.EMERGENCY_UPLIFT and self.cap is None:
            raise ValidationError({"cap": _("Emergency terms need a cap.")})


class DeliveryVehicle(models.Model):
    """A vehicle that tows sets, with its prices on a card."""

    card = models.ForeignKey(RateCard, on_delete=models.CASCADE, related_name="vehicles")
    code = models.CharField(max_length=30, validators=[CODE])
    name = models.CharField(max_length=80)
    tows_kg = models.DecimalField(
        max_digits=8, decimal_places=1, validators=[MinValueValidator(100)]
    )
    trip = models.DecimalField(**PRICE, validators=NOT_NEGATIVE)
    mile = models.DecimalField(**PRICE, validators=NOT_NEGATIVE)
    included_miles = models.DecimalField(**PRICE, default=Decimal(0), validators=NOT_NEGATIVE)

    class Meta:
        ordering = ["tows_kg"]
        constraints = [models.UniqueConstraint(fields=["card", "code"], name="one_vehicle_a_code")]

    def __str__(self) -> str:
        return self.name


class TaxRule(models.Model):
    """A tax on one kind of line where the set stands: a state, or ZIP codes of one prefix in it."""

    name = models.CharField(max_length=80)
    state = models.CharField(max_length=2, validators=[STATE])
    zip_prefix = models.CharField(
        max_length=5, blank=True, validators=[RegexValidator(r"^\d{1,5}$")]
    )
    line_kind = models.CharField(max_length=20, choices=[(kind, kind) for kind in LineKind])
    percent = models.DecimalField(
        max_digits=6,
        decimal_places=4,
        validators=[MinValueValidator(0), MaxValueValidator(30)],
    )
    valid_from = models.DateField()
    valid_until = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["state", "zip_prefix", "name", "line_kind"]
        indexes = [models.Index(fields=["state", "valid_from"])]
        constraints = [
            models.UniqueConstraint(
                fields=["name", "state", "zip_prefix", "line_kind", "valid_from"],
                name="one_tax_a_place_and_kind",
            )
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.line_kind}: {self.percent} %"


class ExemptionCertificate(models.Model):
    """A certificate on file that takes taxes off an organisation's quotes in one state."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.PROTECT, related_name="certificates"
    )
    number = models.CharField(max_length=60)
    state = models.CharField(max_length=2, validators=[STATE])
    line_kinds = models.JSONField(
        default=list, blank=True, help_text=_("Kinds of line it covers; empty for all.")
    )
    valid_from = models.DateField()
    valid_until = models.DateField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(valid_until__gte=F("valid_from")), name="certificate_ends_after_start"
            )
        ]

    def __str__(self) -> str:
        return f"{self.number} of {self.organisation}"

    def clean(self) -> None:
        unknown = set(self.line_kinds) - set(LineKind)
        if unknown:
            raise ValidationError({"line_kinds": _("Unknown kinds: %s") % ", ".join(unknown)})


class DeclaredEmergency(models.Model):
    """A declared emergency in a state, under which emergency terms may not be charged."""

    state = models.CharField(max_length=2, validators=[STATE])
    name = models.CharField(max_length=120)
    valid_from = models.DateField()
    valid_until = models.DateField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "declared emergencies"

    def __str__(self) -> str:
        return f"{self.name} ({self.state})"
