"""The form of an express request: what is needed to send somebody, and nothing else."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

import phonenumbers
from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _now_
from django.utils.translation import gettext_lazy as _

from intake.questions.answers import Answers, Given
from intake.questions.towns import zip_record
from intake.requests.selectors import site_zone
from quotes.emergency.express.asked import Asked
from quotes.emergency.ranks.selectors import kind_name, kinds_in
from quotes.models import TransferEquipment

AT = "at"
NEED_IN = (
    ("0", _("As soon as you can")),
    ("6", _("Within 6 hours")),
    ("12", _("Within 12 hours")),
    ("24", _("Within a day")),
    ("48", _("Within two days")),
    (AT, _("At a time that I give below")),
)
SUPPLIES = (
    ("", _("Choose one")),
    ("120/240", _("120/240 volts, single phase")),
    ("208Y/120", _("208 volts, three phase (with 120)")),
    ("480Y/277", _("480 volts, three phase (with 277)")),
    ("240/120", _("240 volts, three phase with a high leg")),
    ("unsure", _("Not sure")),
)
TRANSFER = (
    ("", _("Choose one")),
    (TransferEquipment.MANUAL_SWITCH, _("Yes, a manual transfer switch")),
    (TransferEquipment.AUTOMATIC_SWITCH, _("Yes, an automatic transfer switch")),
    (TransferEquipment.INTERLOCK, _("Yes, interlocked breakers")),
    (TransferEquipment.INLET, _("Yes, an inlet with a transfer switch")),
    (TransferEquipment.SOME, _("Yes, but I do not know which kind")),
    (TransferEquipment.NONE, _("No")),
    (TransferEquipment.UNSURE, _("Not sure")),
)
LIFE = (("", _("Choose one")), ("no", _("No")), ("yes", _("Yes")), ("unsure", _("Not sure")))
UNITS = {"kw": "kW", "kva": "kVA", "a": "A", "amp": "A", "amps": "A"}
LOAD = re.compile(r"^\s*([\d,]+(?:\.\d+)?)\s*(kw|kva|amps|amp|a)?\s*$", re.IGNORECASE)
LARGEST = {"kW": 20_000.0, "kVA": 20_000.0, "A": 10_000.0}
LATEST = timedelta(days=60)


def text_field(label: Any, missing: Any, *, longest: int, **more: Any) -> forms.CharField:
    """One line of text; ``attrs`` go to its input."""
    attrs = more.pop("attrs", {})
    return forms.CharField(
        label=label,
        max_length=longest,
        error_messages={"required": missing},
        widget=forms.TextInput(attrs=attrs),
        **more,
    )


class ExpressForm(forms.Form):
    """Every error at once; what was typed stays."""

    form_key = forms.UUIDField(widget=forms.HiddenInput)
    facility_kind = forms.ChoiceField(
        label=_("What needs power?"), error_messages={"required": _("Choose what needs power.")}
    )
    need_in = forms.ChoiceField(
        label=_("By when?"),
        choices=NEED_IN,
        error_messages={"required": _("Choose by when the power is needed.")},
    )
    need_at = forms.DateTimeField(
        label=_("The time, on the clock there"),
        required=False,
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M", "%m/%d/%Y %H:%M", "%m/%d/%Y %I:%M %p"],
        error_messages={"invalid": _("Enter day and time, like 2027-01-15 18:30.")},
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
    )
    life_support = forms.ChoiceField(
        label=_("Does anybody's life depend on this power?"),
        choices=LIFE,
        error_messages={"required": _("Choose Yes or No, or choose Not sure.")},
    )
    load = text_field(
        _("Load, if you know it"),
        "",
        longest=20,
        required=False,
        help_text=_("Like 150 kW, 200 kVA or 300 A. Leave it empty if you do not know."),
    )
    main_breaker_a = forms.IntegerField(
        label=_("Main breaker, amps"),
        required=False,
        help_text=_("The number on its handle. It is enough where the load is not known."),
        min_value=15,
        max_value=6000,
        error_messages=dict.fromkeys(
            ("invalid", "min_value", "max_value"),
            _("Enter the amps on the main breaker, 15 to 6000, or leave it empty."),
        ),
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    supply = forms.ChoiceField(
        label=_("Which voltage?"),
        choices=SUPPLIES,
        error_messages={"required": _("Choose the voltage, or choose Not sure.")},
    )
    transfer_equipment = forms.ChoiceField(
        label=_("Is there a transfer switch?"),
        help_text=_("It lets the building take power from one source only, never from both."),
        choices=TRANSFER,
        error_messages={"required": _("Choose Yes or No, or choose Not sure.")},
    )
    place = text_field(
        _("Street, or how to find it"),
        _("Enter the street, or how to find the place."),
        longest=150,
        attrs={"autocomplete": "street-address"},
    )
    zip = text_field(
        _("ZIP code"),
        _("Enter the ZIP code, five digits."),
        longest=10,
        attrs={"inputmode": "numeric", "autocomplete": "postal-code"},
    )
    company = text_field(
        _("Public body or organization"),
        _("Enter who asks: the county, town, district or organization."),
        longest=120,
        attrs={"autocomplete": "organization"},
    )
    contact_name = text_field(
        _("Who answers at night"),
        _("Enter the name of who answers."),
        longest=120,
        attrs={"autocomplete": "name"},
    )
    phone = text_field(
        _("Phone that is answered at night"),
        _("Enter a phone number with its area code."),
        longest=40,
        attrs={"type": "tel", "inputmode": "tel", "autocomplete": "tel"},
    )
    email = forms.EmailField(
        label=_("Email address"),
        required=False,
        error_messages={"invalid": _("Enter an email address like name@example.com.")},
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        now: datetime,
        initial: Mapping[str, Any] | None = None,
    ) -> None:
        first = {"form_key": uuid4(), "need_in": "0", **(initial or {})}
        super().__init__(data, initial=first)
        self.now = now
        kinds = [(kind.code, kind_name(kind)) for kind in kinds_in()]
        field = self.fields["facility_kind"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", _now_("Choose one")), *kinds]

    def clean_load(self) -> str:
        """The load with its unit; a number alone is taken as kW."""
        text = self.cleaned_data["load"]
        if not text:
            return ""
        found = LOAD.match(text)
        if found is None:
            raise ValidationError(_("Enter the load like 150 kW, 200 kVA or 300 A."))
        figure, unit = found[1].replace(",", ""), UNITS[(found[2] or "kW").lower()]
        if not 0 < float(figure) <= LARGEST[unit]:
            raise ValidationError(_("That is not a load we can send a set for. Check the figure."))
        return f"{figure} {unit}"

    def clean_zip(self) -> str:
        """Five digits that exist."""
        digits = "".join(c for c in self.cleaned_data["zip"] if c.isascii() and c.isdigit())[:5]
        if not zip_record(digits):
            raise ValidationError(_("There is no such ZIP code. Use the nearest town's."))
        return digits

    def clean_phone(self) -> str:
        """A number that can be called from elsewhere."""
        text: str = self.cleaned_data["phone"]
        if not callable_number(text):
            raise ValidationError(_("Enter a phone number with its area code, like 970 555 0142."))
        return text

    def clean(self) -> dict[str, Any]:
        """The moment on the clock of the place."""
        data: dict[str, Any] = super().clean() or {}
        if data.get("need_in") == AT and "need_at" not in self.errors:
            self._moment(data)
        return data

    def _moment(self, data: Mapping[str, Any]) -> None:
        given = data.get("need_at")
        if given is None:
            self.add_error("need_at", _("Enter day and time, like 2027-01-15 18:30."))
        elif not self.now - timedelta(hours=1) <= self._there(data) <= self.now + LATEST:
            self.add_error("need_at", _("Choose a time from now to sixty days ahead."))

    def _there(self, data: Mapping[str, Any]) -> datetime:
        """What was typed is a clock at the place, whatever zone the server counts in."""
        zone = site_zone(Answers({"zip": Given(data.get("zip", ""))}))
        there: datetime = data["need_at"].replace(tzinfo=zone)
        return there

    def asked(self, *, language: str) -> Asked:
        """The checked form as a record."""
        data = dict(self.cleaned_data)
        wait = data.pop("need_in")
        need_by = self._there(data) if wait == AT else self.now + timedelta(hours=int(wait))
        for name in ("form_key", "need_at"):
            data.pop(name)
        return Asked(**data, need_by=need_by, language=language)


def callable_number(text: str) -> bool:
    """Whether a number, with its area code, may exist."""
    try:
        number = phonenumbers.parse(text, "US")
    except phonenumbers.NumberParseException:
        return False
    reason = phonenumbers.is_possible_number_with_reason(number)
    return bool(reason == phonenumbers.ValidationResult.IS_POSSIBLE)
