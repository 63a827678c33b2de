"""An emergency: its events, the needs in them, and the calls to whoever has the duty."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from intake.models import HireRequest
from quotes.models.emergency_sites import (
    JURISDICTION,
    LATITUDE,
    LONGITUDE,
    NO_NULL,
    Rank,
    StandingSite,
    TransferEquipment,
)
from quotes.models.fleet import CODE

PERSON: dict[str, Any] = {
    "to": "auth.User",
    "null": True,
    "blank": True,
    "on_delete": models.PROTECT,
    "related_name": "+",
}


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
    called_back_by = models.ForeignKey(**PERSON)
    call_note = models.CharField(max_length=300, blank=True, validators=NO_NULL)
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
    def owes_call(self) -> bool:
        """Whether a call back was promised and nobody has recorded it yet."""
        waits = self.call_back_by is not None and self.called_back_at is None
        return waits and self.state in OPEN_NEED_STATES

    @property
    def waits_for_person(self) -> bool:
        """Whether a rep has yet to clear it; till then no plan serves it."""
        return self.needs_person and self.person_cleared_at is None


class CallStep(models.IntegerChoices):
    """Who is called about a need, one after the other, until the call back is recorded."""

    FIRST = 0, _("first call")
    PASSED = 1, _("the promise passed")
    NEXT = 2, _("the next person")


class CallEscalation(models.Model):
    """A promised call back that passed unrecorded: called again, once a step."""

    need = models.ForeignKey(Need, on_delete=models.CASCADE, related_name="escalations")
    step = models.PositiveSmallIntegerField(choices=CallStep.choices)
    promised_at = models.DateTimeField()
    made_at = models.DateTimeField()

    class Meta:
        ordering = ["need_id", "step"]
        constraints = [
            models.UniqueConstraint(fields=["need", "step"], name="one_escalation_a_step"),
            models.CheckConstraint(
                condition=Q(step__in=[CallStep.PASSED, CallStep.NEXT]),
                name="call_escalation_step_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_step_display()}: {self.need}"


class PageKind(models.TextChoices):
    MAIL = "mail", _("mail")
    WEBHOOK = "webhook", _("webhook")


class Page(models.Model):
    """One call to the duty rep about a need; a webhook's own delivery says whether it went out."""

    need = models.ForeignKey(Need, on_delete=models.CASCADE, related_name="pages")
    step = models.PositiveSmallIntegerField(choices=CallStep.choices, default=CallStep.FIRST)
    kind = models.CharField(max_length=8, choices=PageKind.choices)
    target = models.CharField(max_length=254)
    created_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["need", "step", "kind", "target"], name="one_page_a_need_step_and_target"
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
