"""A case: what a person has to decide before a request can be priced."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from intake.models.request import HireRequest, SizingRun


class CaseState(models.TextChoices):
    """Moves are in ``intake/desk/moves.py``."""

    OPEN = "open", _("waiting for a rep")
    CLAIMED = "claimed", _("with a rep")
    ASKED = "asked", _("waiting for the customer")
    SNOOZED = "snoozed", _("put off")
    RELEASED = "released", _("released to quote")
    DECLINED = "declined", _("declined")


ON_THE_DESK = (CaseState.OPEN, CaseState.CLAIMED)
NOT_CLOSED = (*ON_THE_DESK, CaseState.ASKED, CaseState.SNOOZED)


class Tier(models.IntegerChoices):
    """The coarse order of the queue; inside a tier the earlier ``due_at`` comes first."""

    EMERGENCY = 0, _("emergency")
    ANSWERED = 1, _("customer answered")
    SOON = 2, _("hire starts soon")
    NORMAL = 3, _("in turn")


class Case(models.Model):
    """One case a request; reopened when a new doubt appears.

    ``tier``, ``due_at`` and ``id`` are the order of the queue. ``first_run`` is what the case was
    opened on and ``closing_run`` what it was released on: the two tell whether asking was needless.
    """

    request = models.OneToOneField(HireRequest, on_delete=models.PROTECT, related_name="case")
    state = models.CharField(max_length=12, choices=CaseState.choices, default=CaseState.OPEN)
    version = models.PositiveIntegerField(default=1)
    urgent = models.BooleanField(default=False)
    tier = models.PositiveSmallIntegerField(choices=Tier.choices, default=Tier.NORMAL)
    owner = models.ForeignKey("auth.User", null=True, blank=True, on_delete=models.PROTECT)
    branch_code = models.CharField(max_length=20, blank=True)
    reason = models.CharField(max_length=40)  # code of the leading finding
    headline = models.CharField(max_length=200, blank=True)  # who asks, and for what
    starts_on = models.DateField(null=True, blank=True)
    opened_at = models.DateTimeField()
    promised_at = models.DateTimeField()
    due_at = models.DateTimeField()
    claimed_at = models.DateTimeField(null=True, blank=True)
    snoozed_until = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    times_opened = models.PositiveSmallIntegerField(default=1)
    first_run = models.ForeignKey(
        SizingRun, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    closing_run = models.ForeignKey(
        SizingRun, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    needless = models.BooleanField(null=True, blank=True)  # closed, and asking changed nothing
    customer_words = models.CharField(max_length=1000, blank=True)
    search_text = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=CaseState.values), name="case_state_known"
            ),
            models.CheckConstraint(condition=Q(tier__in=Tier.values), name="case_tier_known"),
        ]
        indexes = [
            models.Index(
                fields=["tier", "due_at", "id"],
                name="case_queue_order",
                condition=Q(state__in=[*NOT_CLOSED]),
            ),
            models.Index(fields=["state", "closed_at"]),
            models.Index(fields=["owner", "state"]),
        ]
        permissions = [
            ("work_case", "May answer, settle and release cases"),
            ("second_case", "May give the second pair of eyes on a finding"),
            ("override_check", "May release a choice with a failing check"),
            ("read_desk", "May read the desk"),
            ("read_figures", "May read the figures"),
        ]

    def __str__(self) -> str:
        return f"case {self.request}"


class FindingState(models.TextChoices):
    OPEN = "open", _("open")
    CONFIRMED = "confirmed", _("confirmed as answered")
    CORRECTED = "corrected", _("corrected")
    ACCEPTED = "accepted", _("accepted by a rep with a reason")
    GONE = "gone", _("no longer found")


class CaseFinding(models.Model):
    """A finding of the method or of the intake's own rules, as a rep works through it."""

    case = models.ForeignKey(Case, on_delete=models.CASCADE, related_name="findings")
    run = models.ForeignKey(SizingRun, on_delete=models.PROTECT, related_name="+")
    code = models.CharField(max_length=40)
    severity = models.CharField(max_length=12)
    subject = models.CharField(max_length=120)
    detail = models.TextField()
    question = models.TextField(blank=True)
    evidence = models.JSONField(default=dict, blank=True)
    state = models.CharField(max_length=12, choices=FindingState.choices, default=FindingState.OPEN)
    four_eyes = models.BooleanField(default=False)
    settled_by = models.ForeignKey(
        "auth.User", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    second_by = models.ForeignKey(
        "auth.User", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    settled_at = models.DateTimeField(null=True, blank=True)
    reason = models.CharField(max_length=500, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["case", "code", "subject"], name="one_finding_a_subject"
            ),
            models.CheckConstraint(
                condition=Q(second_by__isnull=True) | ~Q(second_by=models.F("settled_by")),
                name="second_pair_of_eyes_is_another",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} at {self.subject}: {self.state}"


class Channel(models.TextChoices):
    MAIL = "mail", _("by mail")
    PHONE = "phone", _("by phone")


class CaseQuestion(models.Model):
    """One question put to the customer, by mail or on the phone, and the answer."""

    case = models.ForeignKey(Case, on_delete=models.CASCADE, related_name="questions")
    finding = models.ForeignKey(
        CaseFinding, null=True, blank=True, on_delete=models.PROTECT, related_name="questions"
    )
    channel = models.CharField(max_length=8, choices=Channel.choices)
    words = models.TextField()
    asked_by = models.ForeignKey("auth.User", on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    answer = models.TextField(blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(channel__in=Channel.values), name="question_channel_known"
            )
        ]

    def __str__(self) -> str:
        return f"question {self.pk} on {self.case}"


class FourEyesRule(models.Model):
    """A finding code the owner wants two people for; kept by the manager."""

    OVER_SIZE = "over_size"

    code = models.CharField(max_length=40, unique=True)
    over_kw = models.PositiveIntegerField(  # of ``over_size``: two people above this rating
        null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(100_000)]
    )

    def __str__(self) -> str:
        return self.code
