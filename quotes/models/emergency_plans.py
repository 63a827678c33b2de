"""Plans of an emergency and its papers: which set goes where, fuel rounds, the site records."""

from __future__ import annotations

from typing import Any

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from quotes.models.emergency import PERSON, EmergencyEvent, Need
from quotes.models.emergency_sites import NO_NULL
from quotes.models.fleet import Branch, Unit
from quotes.models.order import Booking
from quotes.models.quote import MONEY

QUANTITY: dict[str, Any] = {"max_digits": 10, "decimal_places": 2}


class Combined(models.Model):
    """Needs near each other that one option could serve together."""

    event = models.ForeignKey(EmergencyEvent, on_delete=models.CASCADE, related_name="combined")
    needs = models.ManyToManyField(Need, related_name="combined")
    options = models.JSONField(default=list)
    why = models.CharField(max_length=300)
    made_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"combined {self.pk} of {self.event}"


class PlanState(models.TextChoices):
    MADE = "made", _("made")
    IN_FORCE = "in_force", _("in force")
    SUPERSEDED = "superseded", _("replaced by a newer plan")


class EmergencyPlan(models.Model):
    """Which set goes where: one plan, stored whole with the problem it answers."""

    event = models.ForeignKey(EmergencyEvent, on_delete=models.PROTECT, related_name="plans")
    number = models.PositiveIntegerField()
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(**PERSON)
    reason = models.CharField(max_length=300, blank=True, validators=NO_NULL)
    problem = models.JSONField(default=dict)
    result = models.JSONField(default=dict)
    seconds = models.FloatField(default=0.0)
    proven = models.BooleanField(default=False)
    gap_percent = models.FloatField(null=True, blank=True)
    state = models.CharField(max_length=12, choices=PlanState.choices, default=PlanState.MADE)
    in_force_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["event_id", "number"]
        constraints = [
            models.UniqueConstraint(fields=["event", "number"], name="one_plan_a_number"),
            models.UniqueConstraint(
                fields=["event"], condition=Q(state="in_force"), name="one_plan_in_force"
            ),
            models.CheckConstraint(
                condition=Q(state__in=PlanState.values), name="plan_state_known"
            ),
        ]

    def __str__(self) -> str:
        return f"plan {self.number} of {self.event}"


class Delivery(models.Model):
    """One unit of a plan on its way to a need, or to several that it serves together."""

    plan = models.ForeignKey(EmergencyPlan, on_delete=models.CASCADE, related_name="deliveries")
    needs = models.ManyToManyField(Need, related_name="deliveries")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="+")
    branch = models.ForeignKey(Branch, on_delete=models.PROTECT, related_name="+")
    depart_at = models.DateTimeField()
    arrive_at = models.DateTimeField()
    late_minutes = models.PositiveIntegerField(default=0)
    distance_km = models.DecimalField(max_digits=7, decimal_places=1)
    share = models.DecimalField(max_digits=4, decimal_places=3, default=1)
    booking = models.OneToOneField(
        Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="delivery"
    )

    class Meta:
        ordering = ["depart_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "unit"], name="a_unit_goes_once_a_plan"),
            models.CheckConstraint(
                condition=Q(arrive_at__gte=F("depart_at")), name="delivery_runs_forward"
            ),
            models.CheckConstraint(
                condition=Q(share__gt=0, share__lte=1), name="delivery_share_is_a_share"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.unit} by {self.plan}"


class ChoiceKind(models.TextChoices):
    PIN = "pin", _("pinned")
    FORBID = "forbid", _("forbidden")


class PlanChoice(models.Model):
    """A rep's word that a unit must, or must not, serve a need."""

    event = models.ForeignKey(EmergencyEvent, on_delete=models.CASCADE, related_name="choices")
    need = models.ForeignKey(Need, on_delete=models.CASCADE, related_name="choices")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=8, choices=ChoiceKind.choices)
    by = models.ForeignKey("auth.User", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    reason = models.CharField(max_length=300, validators=NO_NULL)
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["need", "unit"], condition=Q(active=True), name="one_choice_a_need_and_unit"
            ),
            models.CheckConstraint(
                condition=Q(kind__in=ChoiceKind.values), name="plan_choice_kind_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.unit} for {self.need}"


class FuelPlan(models.Model):
    """The refuel rounds of an event, stored whole with the figures they answer."""

    event = models.ForeignKey(EmergencyEvent, on_delete=models.CASCADE, related_name="fuel_plans")
    number = models.PositiveIntegerField()
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(**PERSON)
    problem = models.JSONField(default=dict)
    result = models.JSONField(default=dict)

    class Meta:
        ordering = ["event_id", "number"]
        constraints = [
            models.UniqueConstraint(fields=["event", "number"], name="one_fuel_plan_a_number")
        ]

    def __str__(self) -> str:
        return f"fuel plan {self.number} of {self.event}"


class FuelStop(models.Model):
    """One stop of a refuel round."""

    plan = models.ForeignKey(FuelPlan, on_delete=models.CASCADE, related_name="stops")
    position = models.PositiveSmallIntegerField()
    truck = models.CharField(max_length=60)
    need = models.ForeignKey(
        Need, null=True, blank=True, on_delete=models.PROTECT, related_name="fuel_stops"
    )  # none where the truck loads
    arrive_at = models.DateTimeField()
    leave_at = models.DateTimeField()
    fuel_l = models.DecimalField(**QUANTITY)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["truck", "position"]
        constraints = [
            models.UniqueConstraint(
                fields=["plan", "truck", "position"], name="one_fuel_stop_a_position"
            ),
            models.CheckConstraint(
                condition=Q(leave_at__gte=F("arrive_at")), name="fuel_stop_runs_forward"
            ),
        ]

    def __str__(self) -> str:
        return f"stop {self.position} of {self.truck}"


class SiteRecord(models.Model):
    """What one set did at one site, as a public body keeps it for reimbursement."""

    need = models.ForeignKey(Need, on_delete=models.PROTECT, related_name="records")
    unit = models.ForeignKey(
        Unit, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    started_at = models.DateTimeField()
    stopped_at = models.DateTimeField(null=True, blank=True)
    hours_meter_start = models.DecimalField(
        max_digits=8, decimal_places=1, null=True, blank=True, validators=[MinValueValidator(0)]
    )
    hours_meter_end = models.DecimalField(
        max_digits=8, decimal_places=1, null=True, blank=True, validators=[MinValueValidator(0)]
    )
    fuel_gallons = models.DecimalField(
        **QUANTITY, null=True, blank=True, validators=[MinValueValidator(0)]
    )
    note = models.TextField(max_length=2000, blank=True, validators=NO_NULL)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(**PERSON)

    class Meta:
        ordering = ["started_at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["need", "unit", "started_at"], name="one_site_record_a_start"
            ),
            models.CheckConstraint(
                condition=Q(stopped_at__isnull=True) | Q(stopped_at__gte=F("started_at")),
                name="site_record_runs_forward",
            ),
            models.CheckConstraint(
                condition=Q(hours_meter_end__isnull=True)
                | Q(hours_meter_end__gte=F("hours_meter_start")),
                name="site_record_meter_runs_forward",
            ),
        ]

    def __str__(self) -> str:
        return f"record of {self.need}"


class RecordLineKind(models.TextChoices):
    SET = "set", _("set")
    FUEL = "fuel", _("fuel")
    LABOUR = "labour", _("labour")
    DELIVERY = "delivery", _("delivery")
    ACCESSORY = "accessory", _("accessory")


class SiteRecordLine(models.Model):
    """One line of a site's cost record; its amount is rounded and part of the total."""

    record = models.ForeignKey(SiteRecord, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=12, choices=RecordLineKind.choices)
    label = models.CharField(max_length=160)
    quantity = models.DecimalField(max_digits=12, decimal_places=2)
    unit = models.CharField(max_length=20, blank=True)
    rate = models.DecimalField(**MONEY)
    amount = models.DecimalField(**MONEY)
    from_at = models.DateTimeField(null=True, blank=True)
    until_at = models.DateTimeField(null=True, blank=True)
    why = models.CharField(max_length=300)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(
                fields=["record", "position"], name="one_record_line_a_position"
            ),
            models.CheckConstraint(
                condition=Q(kind__in=RecordLineKind.values), name="record_line_kind_known"
            ),
            models.CheckConstraint(condition=~Q(why=""), name="record_line_is_explained"),
        ]

    def __str__(self) -> str:
        return f"{self.label}: {self.amount}"
