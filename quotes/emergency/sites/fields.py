"""The fields of a standing site, one list for the form and the table, and groups for the page."""

# ruff: noqa: E501 - one field a line, as a table

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from quotes.emergency.express.forms import SUPPLIES, TRANSFER
from sizing.errors import QuantityRefused
from sizing.quantity import read_quantity

Words = Any  # text, or text that is said in the language of the page
YES_NO = (("", "–"), ("yes", _("Yes")), ("no", _("No")))
CONNECTIONS = (
    ("", "–"),
    ("lugs", _("Lugs")),
    ("cam", _("Cam connectors")),
    ("inlet", _("Inlet with pins")),
    ("unsure", _("Not sure")),
)


class FlagField(forms.ChoiceField):
    """Yes or no, also as tables write it; empty is no."""

    YES, NO = frozenset({"yes", "y", "true", "1", "si", "sí"}), frozenset({"no", "n", "false", "0"})

    def __init__(self, label: Words, help_text: Words = "") -> None:
        super().__init__(label=label, help_text=help_text, choices=YES_NO, required=False)

    def clean(self, value: Any) -> bool:
        word = str(value or "").strip().lower()
        if word and word not in self.YES | self.NO:
            raise ValidationError(_("Write yes or no."))
        return word in self.YES


class LengthField(forms.CharField):
    """A length with its unit, kept in metres; a number alone counts in feet."""

    def __init__(self, label: Words, help_text: Words, low_m: float, high_m: float) -> None:
        super().__init__(label=label, help_text=help_text, max_length=20, required=False)
        self.low_m, self.high_m = low_m, high_m

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            metres = read_quantity(text, "m", low=self.low_m, high=self.high_m, default_unit="ft")
        except QuantityRefused:
            raise ValidationError(
                _("“%(text)s” is not a length that fits here. Write it like 75 ft or 23 m."),
                params={"text": text},
            ) from None
        return Decimal(str(metres)).quantize(Decimal("0.1"))


def line(label: Words, help_text: Words = "", *, longest: int = 300) -> forms.CharField:
    """One line that may stay empty."""
    return forms.CharField(label=label, help_text=help_text, max_length=longest, required=False)


def needed(label: Words, missing: Words, help_text: Words = "", *, longest: int) -> forms.CharField:
    """One line that must be there."""
    return forms.CharField(
        label=label, help_text=help_text, max_length=longest, error_messages={"required": missing}
    )


def for_all(sentence: Words, *kinds: str) -> dict[str, Any]:
    """One sentence for every kind of error."""
    return dict.fromkeys(kinds, sentence)


def whole(label: Words, low: int, high: int, wrong: Words, help_text: Words = "") -> Any:
    """A whole number that may stay empty."""
    return forms.IntegerField(
        label=label,
        help_text=help_text,
        required=False,
        min_value=low,
        max_value=high,
        error_messages=for_all(wrong, "invalid", "min_value", "max_value"),
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )


def degrees(label: Words, most: int, wrong: Words) -> forms.DecimalField:
    """An angle in degrees with up to five places."""
    return forms.DecimalField(
        label=label,
        required=False,
        min_value=Decimal(-most),
        max_value=Decimal(most),
        error_messages=for_all(wrong, "invalid", "min_value", "max_value"),
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )


def chosen(label: Words, choices: Any, missing: Words = "", help_text: Words = "") -> Any:
    """One of a list; without ``missing`` it may stay empty."""
    return forms.ChoiceField(
        label=label,
        help_text=help_text,
        choices=choices,
        required=bool(missing),
        error_messages={
            "required": missing,
            "invalid_choice": _("“%(value)s” is none of the known answers; see the template."),
        },
    )


Made = Callable[[], forms.Field]
# Groups as the public guidance asks them: who, where, why, load, service, connect, fuel, how.
# What must be there is in as few of them as can be: the page folds the others away.
GROUPS: tuple[tuple[Words, dict[str, Made]], ...] = (
    (_("The site"), {
        "key": lambda: needed(_("Code"), _("Give the site a short code."), _("Your own short code, like WELL-3."), longest=40),
        "name": lambda: needed(_("Name"), _("Give the site a name."), longest=120),
        "facility_kind": lambda: chosen(_("Kind of facility"), (), _("Choose the kind of facility.")),
        "street": lambda: line(_("Street"), longest=200),
        "zip": lambda: needed(_("ZIP code"), _("Enter the ZIP code, five digits."), longest=10),
    }),
    (_("Exactly where"), {
        "county": lambda: line(_("County"), _("Empty: by the ZIP code."), longest=60),
        "state": lambda: line(_("State"), _("Two letters; empty: by the ZIP code."), longest=2),
        "latitude": lambda: degrees(_("Latitude"), 90, _("Enter degrees from -90 to 90, like 39.4817.")),
        "longitude": lambda: degrees(_("Longitude"), 180, _("Enter degrees from -180 to 180, like -106.0384.")),
        "altitude": lambda: LengthField(_("Altitude"), _("Like 9600 ft. It settles what a set can give there."), -430, 6200),
        "sketch_note": lambda: line(_("Sketch in words"), _("Where set, connection and doors are, with distances."), longest=1000),
    }),
    (_("Why it matters"), {
        "critical": lambda: FlagField(_("Critical facility")),
        "people_served": lambda: whole(_("People or connections served"), 0, 100_000_000, _("Enter a whole number.")),
        "priority_number": lambda: whole(_("Its number among your sites"), 1, 9999, _("Enter a whole number, 1 first."), _("1 is the first you would serve.")),
        "need_note": lambda: line(_("Nature of the need"), _("What fails without power, and after how long."), longest=1000),
    }),
    (_("Service"), {
        "supply": lambda: chosen(_("Voltage"), SUPPLIES, _("Choose the voltage, or choose Not sure.")),
        "phases_note": lambda: line(_("Special volts, hertz or phases"), longest=200),
        "main_breaker_a": lambda: whole(_("Main breaker, amps"), 15, 6000, _("Enter the amps on the main breaker, 15 to 6000.")),
    }),
    (_("More about the service"), {
        "service_note": lambda: line(_("Service entry"), _("Grounding, neutral size, reliability, nearest feeder.")),
        "capacity_note": lambda: line(_("Use and capacity"), _("kWh from the bill; certified capacity and its safety factor.")),
        "existing_set_note": lambda: line(_("Standby sets there"), _("Kind, size, state; other sets at hand.")),
        "partial_load_ok": lambda: FlagField(_("Can do with part of its load"), _("Then the loads of the lowest priority may be left out.")),
    }),
    (_("Connection"), {
        "transfer_equipment": lambda: chosen(_("Transfer equipment"), TRANSFER, _("Choose one, or choose Not sure."), _("Without it no set may feed the building.")),
        "transfer_note": lambda: line(_("Transfer equipment, more"), _("Size, free terminals, where it is.")),
        "connection": lambda: chosen(_("Connection"), CONNECTIONS),
        "lead_length": lambda: LengthField(_("Way of the leads"), _("From the set to the connection, like 75 ft."), 1, 500),
    }),
    (_("Around the set"), {
        "route_note": lambda: line(_("Route of the leads"), _("Conductors a phase, lug size, crossings.")),
        "connect_material_note": lambda: line(_("Material needed to connect")),
        "access_note": lambda: line(_("Access"), _("Gates, keys, width and height.")),
        "ground_note": lambda: line(_("Where the set stands"), _("Building or ground; what the ground is like.")),
        "noise_note": lambda: line(_("Neighbours of noise and exhaust"), _("Doors, windows, vents, people.")),
        "hazards_note": lambda: line(_("Hazards on site")),
        "fuel_note": lambda: line(_("Fuel"), _("Kind on site, tank size, route and hours for a truck.")),
    }),
    (_("Who"), {
        "contact_name": lambda: needed(_("Who answers at night"), _("Enter who answers at night."), longest=120),
        "night_phone": lambda: needed(_("Phone that is answered at night"), _("Enter a phone number with its area code."), longest=40),
        "second_contact": lambda: line(_("Second contact"), longest=120),
        "second_phone": lambda: line(_("Second phone"), longest=40),
        "signer": lambda: line(_("Who may sign for the body"), longest=120),
        "assessed_by": lambda: line(_("Assessed by"), _("A licensed electrical professional, before the event."), longest=120),
        "assessed_on": lambda: forms.DateField(
            label=_("Assessed on"), required=False,
            input_formats=["%Y-%m-%d", "%m/%d/%Y", "%m/%d/%y"],
            error_messages={"invalid": _("Enter the day like 2027-01-15.")},
            widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        ),
    }),
)  # fmt: skip
COLUMNS: tuple[str, ...] = tuple(name for _title, fields in GROUPS for name in fields)
