"""The owner's fleet: branches, types of set, the units themselves, accessories."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from sizing.errors import DocumentRefused
from sizing.fleet import read_fleet

CODE = RegexValidator(r"^[A-Za-z0-9][A-Za-z0-9_-]*$", _("Use letters, digits, - and _ only."))
ZIP = RegexValidator(r"^\d{5}$", _("Give a five-digit ZIP code."))


class HireCompany(models.Model):
    """The owner, as pages and documents name it; the first row counts."""

    name = models.CharField(max_length=120)
    phone = models.CharField(max_length=30)
    emergency_phone = models.CharField(max_length=30, blank=True)
    email = models.EmailField()
    address = models.CharField(max_length=200, blank=True)

    class Meta:
        verbose_name_plural = "hire company"

    def __str__(self) -> str:
        return self.name


class Branch(models.Model):
    """A yard that sets are hired from."""

    code = models.CharField(max_length=20, unique=True, validators=[CODE])
    name = models.CharField(max_length=120)
    zip = models.CharField("ZIP", max_length=5, validators=[ZIP])
    state = models.CharField(max_length=2, validators=[RegexValidator(r"^[A-Z]{2}$")])
    timezone = models.CharField(max_length=40, default="America/Denver")
    phone = models.CharField(max_length=30)
    emergency_phone = models.CharField(max_length=30, blank=True)
    email = models.EmailField()
    turnaround_days = models.PositiveSmallIntegerField(
        default=1,
        validators=[MaxValueValidator(30)],
        help_text=_("Days between two hires, for service and cleaning."),
    )
    trucks = models.PositiveSmallIntegerField(
        default=2,
        validators=[MaxValueValidator(100)],
        help_text=_("Trucks that bring sets in an emergency, one set a trip."),
    )

    class Meta:
        verbose_name_plural = "branches"
        ordering = ["code"]

    def __str__(self) -> str:
        return self.name


class SetType(models.Model):
    """A type of set. ``record`` is its row of the fleet file, kept as text so nothing is lost."""

    code = models.CharField(max_length=40, unique=True, validators=[CODE])
    name = models.CharField(max_length=120)
    prime_kw = models.DecimalField(
        max_digits=7,
        decimal_places=2,
        validators=[MinValueValidator(1), MaxValueValidator(3000)],
    )
    record = models.JSONField(help_text=_("The row of the fleet file: column name to text."))
    offered = models.BooleanField(default=True)

    class Meta:
        ordering = ["prime_kw", "code"]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    def clean(self) -> None:
        """Let the sizing method read the record, and repeat every problem it has with it."""
        from quotes.fleet.records import fleet_text

        try:
            (read,) = read_fleet(fleet_text([self.record]))
        except DocumentRefused as refusal:
            raise ValidationError(
                {"record": [f"{problem.path}: {problem.message}" for problem in refusal.problems]}
            ) from refusal
        if read.code != self.code:
            raise ValidationError({"record": _("The record's code differs from the type's code.")})
        self.name, self.prime_kw = read.name, models.DecimalField().to_python(str(read.prime_kw))


class UnitState(models.TextChoices):
    IN_SERVICE = "in_service", _("in service")
    WORKSHOP = "workshop", _("in the workshop")
    RETIRED = "retired", _("retired")


class Unit(models.Model):
    """One machine with a fleet number."""

    number = models.CharField(max_length=30, unique=True, validators=[CODE])
    set_type = models.ForeignKey(SetType, on_delete=models.PROTECT, related_name="units")
    branch = models.ForeignKey(Branch, on_delete=models.PROTECT, related_name="units")
    state = models.CharField(max_length=12, choices=UnitState.choices, default=UnitState.IN_SERVICE)
    engine_hours = models.PositiveIntegerField(default=0, validators=[MaxValueValidator(200_000)])
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["number"]
        indexes = [models.Index(fields=["set_type", "branch", "state"])]

    def __str__(self) -> str:
        return self.number


class AccessoryType(models.Model):
    """An accessory by the method's code; long ones are charged by sections."""

    code = models.CharField(max_length=40, unique=True, validators=[CODE])
    name = models.CharField(max_length=120)
    section_m = models.DecimalField(
        max_digits=6,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(500)],
        help_text=_("Length of one section in metres, where the price is by section."),
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(section_m__isnull=True) | Q(section_m__gt=0),
                name="section_has_a_length",
            )
        ]

    def __str__(self) -> str:
        return self.name
