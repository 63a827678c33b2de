"""An emergency: its needs, the plans that serve them, fuel, the site records, and the duty."""

from __future__ import annotations

from typing import Any

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from intake.models import HireRequest
from quotes.models.emergency_sites import (
    JURISDICTION,
    LATITUDE,
    LONGITUDE,
    NO_NULL,
    PARTS_FROM_UTILITY,
    AgreedTerms,
    FacilityKind,
    PublicBody,
    Rank,
    SiteConnection,
    SiteUpload,
    StandingSite,
    TransferEquipment,
)
from quotes.models.fleet import CODE, Branch, Unit
from quotes.models.order import Booking
from quotes.models.quote import MONEY

__all__ = [
    "OPEN_NEED_STATES",
    "PARTS_FROM_UTILITY",
    "AgreedTerms",
    "ChoiceKind",
    "Combined",
    "Delivery",
    "DutyTurn",
    "EmergencyEvent",
    "EmergencyPlan",
    "EventState",
    "FacilityKind",
    "FuelPlan",
    "FuelStop",
    "Need",
    "NeedState",
    "Page",
    "PageKind",
    "PlanChoice",
    "PlanState",
    "PublicBody",
    "Rank",
    "RecordLineKind",
    "SiteConnection",
    "SiteRecord",
    "SiteRecordLine",
    "SiteUpload",
    "StandingSite",
    "TransferEquipment",
]

PERSON: dict[str, Any] = {
    "to": "auth.User",
    "null": True,
    "blank": True,
    "on_delete": models.PROTECT,
    "related_name": "+",
}
QUANTITY: dict[str, Any] = {"max_digits": 10, "decimal_places": 2}


class EventState(models.TextChoices):
    OPEN = "open", _("open")
    CLOSED = "closed", _("closed")


class EmergencyEvent(models.Model):
    """A storm, a flood, a fire: what a plan is made for."""

    code = models.CharField(max_length=40, unique=True, validators=[CODE])
    name = models.CharField(max_length=120, validators=NO_NULL)
    jurisdiction = models.CharField(max_length=64, blank=True, validators=[JURISDICTION])
    state = models.CharField(max_length=8, choices=EventState.choices, default=EventState.OPEN)
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(**PERSON)
    expected_end = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-opened_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=EventState.values), name="emergency_event_state_known"
            ),
            models.CheckConstraint(
                condition=Q(state="open", closed_at__isnull=True)
                | Q(state="closed", closed_at__isnull=False),
                name="emergency_event_closed_has_a_time",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class NeedState(models.TextChoices):
    """The allowed moves are in ``quotes/emergency/moves.py``."""

    NEEDED = "needed", _("needed")
    PROMISED = "promised", _("promised")
    ON_THE_WAY = "on_the_way", _("on the way")
    RUNNING = "running", _("running")
    DONE = "done", _("done")
    WITHDRAWN = "withdrawn", _("withdrawn")


OPEN_NEED_STATES = (
    NeedState.NEEDED,
    NeedState.PROMISED,
    NeedState.ON_THE_WAY,
    NeedState.RUNNING,
)


class Need(models.Model):
    """One place that needs power in an emergency: what the board shows and a plan serves.

    ``options`` hold only what passes every check. While ``needs_person`` stands uncleared no plan
    may serve it.
    """

    event = models.ForeignKey(
        EmergencyEvent, null=True, blank=True, on_delete=models.PROTECT, related_name="needs"
    )
    request = models.OneToOneField(
        HireRequest, null=True, blank=True, on_delete=models.PROTECT, related_name="need"
    )
    site = models.ForeignKey(
        StandingSite, null=True, blank=True, on_delete=models.PROTECT, related_name="needs"
    )
    key = models.CharField(max_length=60)
    client_key = models.UUIDField(null=True, blank=True, unique=True)  # tells a second sending
    name = models.CharField(max_length=200, validators=NO_NULL)
    facility_kind = models.CharField(max_length=40)
    rank = models.PositiveSmallIntegerField(choices=Rank.choices)
    rank_reason = models.CharField(max_length=400)
    need_by = models.DateTimeField()
    place = models.CharField(max_length=300, blank=True, validators=NO_NULL)
    jurisdiction = models.CharField(max_length=64, blank=True)
    latitude = models.DecimalField(**LATITUDE, null=True, blank=True)
    longitude = models.DecimalField(**LONGITUDE, null=True, blank=True)
    requirement = models.JSONField(default=dict, blank=True)
    options = models.JSONField(default=list, blank=True)
    findings = models.JSONField(default=list, blank=True)
    sized_at = models.DateTimeField(null=True, blank=True)
    sized_against = models.CharField(max_length=200, blank=True)
    life_safety = models.BooleanField(default=False)
    transfer_equipment = models.CharField(
        max_length=20, choices=TransferEquipment.choices, default=TransferEquipment.UNSURE
    )
    connection_data = models.JSONField(default=dict, blank=True)  # kept for the order
    contact_name = models.CharField(max_length=120, validators=NO_NULL)
    night_phone = models.CharField(max_length=40, validators=NO_NULL)
    state = models.CharField(max_length=12, choices=NeedState.choices, default=NeedState.NEEDED)
    state_at = models.DateTimeField()
    needs_person = models.BooleanField(default=False)
    person_reason = models.TextField(blank=True)
    person_cleared_by = models.ForeignKey(**PERSON)
    person_cleared_at = models.DateTimeField(null=True, blank=True)
    call_back_by = models.DateTimeField(null=True, blank=True)
    called_back_at = models.DateTimeField(null=True, blank=True)
    accepted_at = models.DateTimeField()
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["rank", "need_by", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=NeedState.values), name="need_state_known"
            ),
            models.CheckConstraint(condition=Q(rank__in=Rank.values), name="need_rank_known"),
            models.CheckConstraint(
                condition=Q(transfer_equipment__in=TransferEquipment.values),
                name="need_transfer_equipment_known",
            ),
            models.CheckConstraint(
                condition=Q(person_cleared_at__isnull=True) | Q(person_cleared_by__isnull=False),
                name="need_cleared_by_somebody",
            ),
            models.UniqueConstraint(
                fields=["site"],
                condition=Q(state__in=[*OPEN_NEED_STATES]),
                name="one_open_need_a_site",
            ),
            models.UniqueConstraint(
                fields=["event", "key"],
                condition=Q(state__in=[*OPEN_NEED_STATES]),
                name="one_open_need_a_key_and_event",
            ),
        ]
        indexes = [
            models.Index(fields=["event", "state", "rank", "need_by"], name="needs_of_an_event"),
            models.Index(
                fields=["call_back_by"],
                name="needs_to_call_back",
                condition=Q(called_back_at__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def request_or_fail(self) -> HireRequest:
        """The request it was made for; only a need of a standing site has none."""
        assert self.request is not None
        return self.request

    @property
    def waits_for_person(self) -> bool:
        """Whether a rep has yet to clear it; till then no plan serves it."""
        return self.needs_person and self.person_cleared_at is None


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


class PageKind(models.TextChoices):
    MAIL = "mail", _("mail")
    WEBHOOK = "webhook", _("webhook")


class Page(models.Model):
    """One call to the duty rep about a need; a webhook's own delivery says whether it went out."""

    need = models.ForeignKey(Need, on_delete=models.CASCADE, related_name="pages")
    kind = models.CharField(max_length=8, choices=PageKind.choices)
    target = models.CharField(max_length=254)
    created_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["need", "kind", "target"], name="one_page_a_need_and_target"
            ),
            models.CheckConstraint(condition=Q(kind__in=PageKind.values), name="page_kind_known"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} to {self.target} about {self.need}"


class DutyTurn(models.Model):
    """Who answers at night, from when until when, for one branch or for all."""

    user = models.ForeignKey("auth.User", on_delete=models.PROTECT, related_name="duty_turns")
    branch_code = models.CharField(max_length=20, blank=True)
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    phone = models.CharField(max_length=40, validators=NO_NULL)
    email = models.EmailField()

    class Meta:
        ordering = ["starts_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_at__gt=F("starts_at")), name="duty_turn_runs_forward"
            )
        ]
        indexes = [models.Index(fields=["starts_at", "ends_at"], name="duty_turns_by_time")]

    def __str__(self) -> str:
        return f"{self.user} until {self.ends_at:%Y-%m-%d %H:%M}"
