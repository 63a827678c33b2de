"""What is on file before a storm: public bodies, their standing sites, ranks, agreed terms."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.core.validators import (
    MaxValueValidator,
    MinValueValidator,
    ProhibitNullCharactersValidator,
    RegexValidator,
)
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from intake.models import Organisation
from quotes.models.rates import STATE

NO_NULL = [ProhibitNullCharactersValidator()]
LATITUDE: dict[str, Any] = {
    "max_digits": 8,
    "decimal_places": 5,
    "validators": [MinValueValidator(Decimal(-90)), MaxValueValidator(Decimal(90))],
}
LONGITUDE: dict[str, Any] = {
    "max_digits": 8,
    "decimal_places": 5,
    "validators": [MinValueValidator(Decimal(-180)), MaxValueValidator(Decimal(180))],
}
JURISDICTION = RegexValidator(
    r"^[A-Z]{2}(-.{1,60})?$", _("Give the two letters of the state, or ST-County.")
)


class Rank(models.IntegerChoices):
    """The order in which power is given; the lower number is served first."""

    LIFE_SAVING = 1, _("life-saving")
    LIFE_SUSTAINING = 2, _("life-sustaining")
    MUNICIPAL = 3, _("other municipal")


class TransferEquipment(models.TextChoices):
    """What parts the building from the utility while a set feeds it."""

    NONE = "none", _("none")
    MANUAL_SWITCH = "manual_switch", _("manual transfer switch")
    AUTOMATIC_SWITCH = "automatic_switch", _("automatic transfer switch")
    INTERLOCK = "interlock", _("interlocked breakers")
    INLET = "inlet", _("inlet with transfer switch")
    SOME = "some", _("there is some, of a kind not said")
    UNSURE = "unsure", _("not sure")


PARTS_FROM_UTILITY = (
    TransferEquipment.MANUAL_SWITCH,
    TransferEquipment.AUTOMATIC_SWITCH,
    TransferEquipment.INTERLOCK,
    TransferEquipment.INLET,
    TransferEquipment.SOME,
)


class SiteConnection(models.TextChoices):
    """How the set's leads are landed."""

    LUGS = "lugs", _("lugs")
    CAM = "cam", _("cam connectors")
    INLET = "inlet", _("inlet with pins")
    UNSURE = "unsure", _("not sure")


class FacilityKind(models.Model):
    """A kind of facility and its rank: the owner's default, or a jurisdiction's own."""

    code = models.CharField(max_length=40, validators=[RegexValidator(r"^[a-z][a-z0-9_]*$")])
    jurisdiction = models.CharField(
        max_length=64,
        blank=True,
        validators=[JURISDICTION],
        help_text=_("Empty for the owner's default; else a state (ZZ) or a county (ZZ-Name)."),
    )
    name = models.CharField(max_length=120)
    name_es = models.CharField(max_length=120, blank=True)
    rank = models.PositiveSmallIntegerField(choices=Rank.choices)
    why = models.CharField(max_length=300)
    source = models.CharField(max_length=300)

    class Meta:
        ordering = ["rank", "name", "jurisdiction"]
        constraints = [
            models.UniqueConstraint(
                fields=["code", "jurisdiction"], name="one_rank_a_kind_and_jurisdiction"
            ),
            models.CheckConstraint(condition=Q(rank__in=Rank.values), name="kind_rank_known"),
        ]

    def __str__(self) -> str:
        return f"{self.name} ({self.jurisdiction})" if self.jurisdiction else self.name


class PublicBody(models.Model):
    """A public body that may register sites. Its link's token is derived, only its hash kept."""

    organisation = models.OneToOneField(
        Organisation, on_delete=models.PROTECT, related_name="public_body_entry"
    )
    token_hash = models.CharField(max_length=64, unique=True)
    link_generation = models.PositiveIntegerField(default=1)
    link_expires_at = models.DateTimeField()
    contact_name = models.CharField(max_length=120, validators=NO_NULL)
    contact_email = models.EmailField()
    night_phone = models.CharField(max_length=40, validators=NO_NULL)
    jurisdiction = models.CharField(max_length=64, blank=True, validators=[JURISDICTION])
    language = models.CharField(max_length=8, default="en")
    created_at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "public bodies"

    def __str__(self) -> str:
        return str(self.organisation)


class AgreedTerms(models.Model):
    """Emergency terms agreed with an organisation; no uplift goes beyond them."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.PROTECT, related_name="agreed_terms"
    )
    valid_from = models.DateField()
    valid_until = models.DateField()
    uplift_cap_percent = models.DecimalField(
        max_digits=5,
        decimal_places=2,
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(100))],
    )
    signed_by = models.CharField(max_length=120, validators=NO_NULL)
    document_reference = models.CharField(max_length=120, validators=NO_NULL)
    note = models.TextField(max_length=2000, blank=True, validators=NO_NULL)

    class Meta:
        verbose_name_plural = "agreed terms"
        ordering = ["-valid_from"]
        constraints = [
            models.CheckConstraint(
                condition=Q(valid_until__gte=F("valid_from")), name="agreed_terms_run_forward"
            ),
            models.CheckConstraint(
                condition=Q(uplift_cap_percent__gte=0), name="agreed_cap_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.document_reference} of {self.organisation}"


class StandingSite(models.Model):
    """A site of a public body, described and sized before it is needed.

    ``loads`` are loads of a requirement, each with a ``priority`` (1 is shed last). ``options``
    are what passes every check: ``{"set_code", "count", "share", "checks"}``.
    """

    organisation = models.ForeignKey(
        Organisation, on_delete=models.PROTECT, related_name="standing_sites"
    )
    key = models.CharField(max_length=40, validators=[RegexValidator(r"^[A-Za-z0-9][\w.-]*$")])
    name = models.CharField(max_length=120, validators=NO_NULL)
    facility_kind = models.CharField(max_length=40)
    street = models.CharField(max_length=200, blank=True, validators=NO_NULL)
    zip = models.CharField(max_length=5, validators=[RegexValidator(r"^\d{5}$")])
    county = models.CharField(max_length=60, blank=True, validators=NO_NULL)
    state = models.CharField(max_length=2, validators=[STATE])
    latitude = models.DecimalField(**LATITUDE)
    longitude = models.DecimalField(**LONGITUDE)
    altitude_m = models.DecimalField(
        max_digits=6,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(-430), MaxValueValidator(6200)],
    )
    sketch_note = models.TextField(max_length=1000, blank=True, validators=NO_NULL)
    need_note = models.TextField(max_length=1000, blank=True, validators=NO_NULL)
    critical = models.BooleanField(default=False)
    people_served = models.PositiveIntegerField(null=True, blank=True)
    priority_number = models.PositiveSmallIntegerField(null=True, blank=True)
    supply = models.CharField(max_length=12)
    phases_note = models.CharField(max_length=200, blank=True, validators=NO_NULL)
    main_breaker_a = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(15), MaxValueValidator(6000)]
    )
    service_note = models.CharField(max_length=300, blank=True, validators=NO_NULL)
    capacity_note = models.CharField(max_length=300, blank=True, validators=NO_NULL)
    transfer_equipment = models.CharField(
        max_length=20, choices=TransferEquipment.choices, default=TransferEquipment.UNSURE
    )
    transfer_note = models.CharField(max_length=300, blank=True, validators=NO_NULL)
    connection = models.CharField(
        max_length=10, choices=SiteConnection.choices, default=SiteConnection.UNSURE
    )
    lead_length_m = models.DecimalField(
        max_digits=6,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(500)],
    )
    route_note = models.CharField(max_length=300, blank=True, validators=NO_NULL)
    access_note = models.CharField(max_length=300, blank=True, validators=NO_NULL)
    ground_note = models.CharField(max_length=300, blank=True, validators=NO_NULL)
    noise_note = models.CharField(max_length=300, blank=True, validators=NO_NULL)
    fuel_note = models.CharField(max_length=300, blank=True, validators=NO_NULL)
    existing_set_note = models.CharField(max_length=300, blank=True, validators=NO_NULL)
    hazards_note = models.CharField(max_length=300, blank=True, validators=NO_NULL)
    connect_material_note = models.CharField(max_length=300, blank=True, validators=NO_NULL)
    partial_load_ok = models.BooleanField(default=False)
    loads = models.JSONField(default=list, blank=True)
    assessed_by = models.CharField(max_length=120, blank=True, validators=NO_NULL)
    assessed_on = models.DateField(null=True, blank=True)
    contact_name = models.CharField(max_length=120, validators=NO_NULL)
    night_phone = models.CharField(max_length=40, validators=NO_NULL)
    second_contact = models.CharField(max_length=120, blank=True, validators=NO_NULL)
    second_phone = models.CharField(max_length=40, blank=True, validators=NO_NULL)
    signer = models.CharField(max_length=120, blank=True, validators=NO_NULL)
    version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField()
    updated_at = models.DateTimeField()
    archived_at = models.DateTimeField(null=True, blank=True)
    reviewed_on = models.DateField()
    review_due_on = models.DateField()
    reminded_on = models.DateField(null=True, blank=True)
    sized_at = models.DateTimeField(null=True, blank=True)
    sized_against = models.CharField(max_length=200, blank=True)  # fleet, tables and code
    sizing = models.JSONField(default=dict, blank=True)
    options = models.JSONField(default=list, blank=True)
    findings = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ["organisation_id", "key"]
        constraints = [
            models.UniqueConstraint(fields=["organisation", "key"], name="one_standing_site_a_key"),
            models.CheckConstraint(
                condition=Q(transfer_equipment__in=TransferEquipment.values),
                name="site_transfer_equipment_known",
            ),
            models.CheckConstraint(
                condition=Q(connection__in=SiteConnection.values), name="site_connection_known"
            ),
        ]
        indexes = [
            models.Index(
                fields=["sized_against"],
                name="sites_to_size",
                condition=Q(archived_at__isnull=True),
            ),
            models.Index(
                fields=["review_due_on"],
                name="sites_to_review",
                condition=Q(archived_at__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} ({self.key})"


class SiteUpload(models.Model):
    """A table of sites or of their loads as it was sent, kept until its last row is brought in."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="site_uploads"
    )
    table = models.CharField(max_length=8, choices=[("sites", _("sites")), ("loads", _("loads"))])
    file_name = models.CharField(max_length=200, blank=True, validators=NO_NULL)
    rows = models.JSONField(default=list)  # each row's line in the file and its cells as typed
    made_at = models.DateTimeField()
    taken_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"{self.file_name or self.table} of {self.organisation}"
