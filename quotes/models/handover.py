"""What happens to an order's units from delivery to the final statement."""

from __future__ import annotations

from typing import Any

from django.core.validators import (
    MaxValueValidator,
    MinValueValidator,
    ProhibitNullCharactersValidator,
)
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from quotes.models.fleet import Unit
from quotes.models.order import Booking, Order
from quotes.models.quote import MONEY, Quote
from quotes.pricing.terms import LineKind

NO_NULL = [ProhibitNullCharactersValidator()]
HOURS: dict[str, Any] = {
    "max_digits": 8,
    "decimal_places": 1,
    "validators": [MinValueValidator(0), MaxValueValidator(200_000)],
}
PERCENT: dict[str, Any] = {"validators": [MinValueValidator(0), MaxValueValidator(100)]}


class OutUnit(models.Model):
    """One unit of an order; after a swap the old one stays, with when and why it went back.

    The token of its page is never stored: it is derived, and only its hash is kept.
    """

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="out_units")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="times_out")
    booking = models.OneToOneField(Booking, on_delete=models.PROTECT, related_name="out_unit")
    position = models.PositiveSmallIntegerField()  # its row among the option's sets
    token_hash = models.CharField(max_length=64, unique=True)
    generation = models.PositiveIntegerField(default=1)
    opened_at = models.DateTimeField()
    replaces = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="replaced_by"
    )
    ended_at = models.DateTimeField(null=True, blank=True)
    end_reason = models.CharField(max_length=300, blank=True, validators=NO_NULL)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["order", "unit"], name="a_unit_goes_out_once_an_order")
        ]

    def __str__(self) -> str:
        return f"{self.unit} on {self.order}"


class SignOffKind(models.TextChoices):
    DELIVERY = "delivery", _("delivery")
    RETURN = "return", _("return")


class PhotoSubject(models.TextChoices):
    FUEL = "fuel", _("fuel gauge")
    HOURS = "hours", _("hour meter")
    CONDITION = "condition", _("condition")


class SignOff(models.Model):
    """Who signed for a unit and what was ticked. ``client_key`` tells a second sending."""

    out_unit = models.ForeignKey(OutUnit, on_delete=models.PROTECT, related_name="sign_offs")
    kind = models.CharField(max_length=10, choices=SignOffKind.choices)
    client_key = models.UUIDField(unique=True)
    name = models.CharField(max_length=120, validators=NO_NULL)
    role = models.CharField(max_length=120, blank=True, validators=NO_NULL)
    connector = models.CharField(max_length=120, blank=True, validators=NO_NULL)
    driver = models.ForeignKey("auth.User", on_delete=models.PROTECT, related_name="+")
    engine_hours = models.DecimalField(**HOURS)
    fuel_percent = models.PositiveSmallIntegerField(**PERCENT)
    note = models.TextField(max_length=2000, blank=True, validators=NO_NULL)
    accessories = models.JSONField(default=dict, blank=True)  # code to pieces counted
    # photos taken but not kept: subject, and SHA-256 of the file as it came
    photos_missing = models.JSONField(default=list, blank=True)
    signed_at = models.DateTimeField()  # as the phone said, never later than received
    received_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["out_unit", "kind"], name="one_sign_off_a_kind"),
            models.CheckConstraint(
                condition=Q(kind__in=SignOffKind.values), name="sign_off_kind_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.out_unit}"

    @property
    def missing_words(self) -> str:
        """What the photos show for which there was no room."""
        return ", ".join(str(PhotoSubject(one).label) for one in self.missing_subjects)

    @property
    def missing_subjects(self) -> list[str]:
        return [subject for subject, _sha256 in self.photos_missing]


class Tick(models.Model):
    """One item of a checklist: in order or not, by whom, with the text as it was read."""

    sign_off = models.ForeignKey(SignOff, on_delete=models.CASCADE, related_name="ticks")
    position = models.PositiveSmallIntegerField()
    item_key = models.CharField(max_length=40)
    text = models.CharField(max_length=400)
    done = models.BooleanField()
    by = models.CharField(max_length=120, validators=NO_NULL)
    note = models.CharField(max_length=300, blank=True, validators=NO_NULL)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["sign_off", "item_key"], name="one_tick_an_item")
        ]

    def __str__(self) -> str:
        return f"{self.item_key} of {self.sign_off}"


class SignOffPhoto(models.Model):
    """A photo taken at a sign-off, checked and re-encoded; private to the order."""

    sign_off = models.ForeignKey(SignOff, on_delete=models.CASCADE, related_name="photos")
    subject = models.CharField(max_length=10, choices=PhotoSubject.choices)
    image = models.FileField(upload_to="handover/%Y/%m/")
    width_px = models.PositiveIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(4000)]
    )
    height_px = models.PositiveIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(4000)]
    )

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"{self.subject} of {self.sign_off}"


class Reading(models.Model):
    """Hour meter and fuel gauge during the hire, by the customer or by staff."""

    out_unit = models.ForeignKey(OutUnit, on_delete=models.PROTECT, related_name="readings")
    client_key = models.UUIDField(unique=True)
    at = models.DateTimeField()
    engine_hours = models.DecimalField(**HOURS)
    fuel_percent = models.PositiveSmallIntegerField(**PERCENT)
    load_kw = models.DecimalField(
        max_digits=7, decimal_places=1, null=True, blank=True, validators=[MinValueValidator(0)]
    )
    by = models.CharField(max_length=120, validators=NO_NULL)
    filled = models.BooleanField(default=False)  # read right after refuelling
    pumped_l = models.DecimalField(
        max_digits=8, decimal_places=1, null=True, blank=True, validators=[MinValueValidator(0)]
    )  # what the owner pumped at this visit
    notes = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return f"{self.engine_hours} h of {self.out_unit}"


class ServiceCaseState(models.TextChoices):
    OPEN = "open", _("open")
    CLOSED = "closed", _("closed")


class ServiceCase(models.Model):
    """Somebody called, or went through the questions, because a set did not do what it should."""

    out_unit = models.ForeignKey(OutUnit, on_delete=models.PROTECT, related_name="service_cases")
    client_key = models.UUIDField(unique=True)
    path = models.CharField(max_length=1000)
    path_words = models.JSONField(default=list, blank=True)
    end = models.CharField(max_length=40)
    kind = models.CharField(max_length=12)
    name = models.CharField(max_length=120, blank=True, validators=NO_NULL)
    phone = models.CharField(max_length=40, blank=True, validators=NO_NULL)
    words = models.TextField(max_length=2000, blank=True, validators=NO_NULL)
    by_staff = models.ForeignKey(
        "auth.User", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    opened_at = models.DateTimeField()
    state = models.CharField(max_length=8, choices=ServiceCaseState.choices)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(
        "auth.User", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    resolution = models.TextField(max_length=2000, blank=True, validators=NO_NULL)

    class Meta:
        ordering = ["-id"]
        indexes = [
            models.Index(fields=["opened_at"], name="open_service_cases", condition=Q(state="open"))
        ]

    def __str__(self) -> str:
        return f"{self.end} on {self.out_unit}"


class ChangeKind(models.TextChoices):
    EXTENSION = "extension", _("longer")
    OFF_HIRE = "off_hire", _("off hire")


class HireChange(models.Model):
    """The customer agreed to a new last day at a price; its lines are kept as they were agreed."""

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="changes")
    client_key = models.UUIDField(unique=True)
    kind = models.CharField(max_length=10, choices=ChangeKind.choices)
    from_end = models.DateField()
    to_end = models.DateField()
    charged_to = models.DateField()  # the last day that is charged
    name = models.CharField(max_length=120, validators=NO_NULL)
    agreed_at = models.DateTimeField()
    lines = models.JSONField()
    difference = models.DecimalField(**MONEY)  # with taxes
    total = models.DecimalField(**MONEY)  # the hire's new total, with taxes

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"{self.kind} of {self.order} to {self.to_end}"


class Statement(models.Model):
    """The final statement of an order. Written once."""

    order = models.OneToOneField(Order, on_delete=models.PROTECT, related_name="statement")
    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, related_name="+")
    made_by = models.ForeignKey("auth.User", on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    taxes = models.JSONField(default=list)
    net = models.DecimalField(**MONEY)
    tax = models.DecimalField(**MONEY)
    total = models.DecimalField(**MONEY)
    deposit = models.DecimalField(**MONEY)
    due = models.DecimalField(**MONEY)

    def __str__(self) -> str:
        return f"statement of {self.order}"


class StatementLine(models.Model):
    """One line of the final statement, with its reason."""

    statement = models.ForeignKey(Statement, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField()
    part = models.CharField(
        max_length=10,
        choices=[("agreed", _("as quoted")), ("changed", _("changed during the hire")),
                 ("settled", _("settled on return"))],
    )  # fmt: skip
    kind = models.CharField(max_length=20, choices=[(kind, kind) for kind in LineKind])
    code = models.CharField(max_length=60)
    label = models.CharField(max_length=160)
    quantity = models.DecimalField(max_digits=12, decimal_places=2)
    unit = models.CharField(max_length=20, blank=True)
    unit_price = models.DecimalField(**MONEY)
    amount = models.DecimalField(**MONEY)
    why = models.CharField(max_length=400)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(
                fields=["statement", "position"], name="one_statement_line_a_position"
            ),
            models.CheckConstraint(condition=~Q(why=""), name="statement_line_is_explained"),
        ]

    def __str__(self) -> str:
        return f"{self.label}: {self.amount}"
