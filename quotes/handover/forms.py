"""Forms of the handover's pages."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from quotes.models import SignOffKind

HOURS_WRONG = _("Enter the hours on the meter, like 1234.5.")
FUEL_WRONG = _("Enter the fuel in percent of a full tank, 0 to 100.")
NAME_MISSING = _("Enter your name.")


class KeyForm(forms.Form):
    """A form that a phone may send twice: its key tells."""

    client_key = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        first = {"client_key": uuid4(), **(kwargs.get("initial") or {})}
        super().__init__(*args, **{**kwargs, "initial": first})

    def seen_fields(self) -> list[forms.BoundField]:
        """Fields to be shown, the key left out."""
        return self.visible_fields()


def hours_field() -> forms.DecimalField:
    return forms.DecimalField(
        label=_("Hour meter, h"),
        max_digits=8,
        decimal_places=1,
        min_value=Decimal(0),
        max_value=Decimal(200_000),
        error_messages=dict.fromkeys(
            ("required", "invalid", "max_digits", "max_decimal_places", "min_value", "max_value"),
            HOURS_WRONG,
        ),
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )


def fuel_field() -> forms.IntegerField:
    return forms.IntegerField(
        label=_("Fuel gauge, percent"),
        help_text=_("A quarter is 25, half is 50, full is 100."),
        min_value=0,
        max_value=100,
        error_messages=dict.fromkeys(("required", "invalid", "min_value", "max_value"), FUEL_WRONG),
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )


class ReadingForm(KeyForm):
    """Hour meter and fuel gauge."""

    engine_hours = hours_field()
    fuel_percent = fuel_field()
    load_kw = forms.DecimalField(
        label=_("Load on the display, kW"),
        required=False,
        min_value=Decimal(0),
        max_digits=7,
        decimal_places=1,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    filled = forms.BooleanField(label=_("The tank was filled just before"), required=False)


class StaffReadingForm(ReadingForm):
    """The same, with what was pumped."""

    pumped_l = forms.DecimalField(
        label=_("Pumped by us, L"),
        required=False,
        min_value=Decimal(0),
        max_digits=8,
        decimal_places=1,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )


class CallForm(KeyForm):
    """Who reports, and anything to add."""

    name = forms.CharField(label=_("Your name"), max_length=120, required=False)
    phone = forms.CharField(
        label=_("Phone we can call back"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "tel", "autocomplete": "tel"}),
    )
    words = forms.CharField(
        label=_("Anything else you saw or heard"),
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class AgreeForm(KeyForm):
    """Agreeing to a new last day at the price shown."""

    to = forms.DateField(widget=forms.HiddenInput)
    difference = forms.DecimalField(widget=forms.HiddenInput, max_digits=12, decimal_places=2)
    name = forms.CharField(
        label=_("Your full name"), max_length=120, error_messages={"required": NAME_MISSING}
    )


class DayForm(forms.Form):
    """Another last day; its field is written out where the page asks for it."""

    to = forms.DateField(
        error_messages=dict.fromkeys(("required", "invalid"), _("Choose a day.")),
    )

    def clean_to(self) -> date:
        found: date = self.cleaned_data["to"]
        return found


class SignForm(KeyForm):
    """The sign-off's own fields; the items' ticks and notes stand beside."""

    engine_hours = hours_field()
    fuel_percent = fuel_field()
    note = forms.CharField(
        label=_("Condition, anything to remember"),
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    connector = forms.CharField(
        label=_("Connected by (licensed electrician or qualified person)"),
        max_length=120,
        error_messages={"required": _("Enter who connected the set.")},
    )
    name = forms.CharField(
        label=_("Full name of who signs"),
        max_length=120,
        error_messages={"required": _("Enter the name of who signs.")},
    )
    role = forms.CharField(label=_("Role on the site"), max_length=120, required=False)
    signed_at = forms.DateTimeField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, kind: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["connector"].required = kind == SignOffKind.DELIVERY


class SwapForm(forms.Form):
    """Another unit in a unit's place."""

    unit_number = forms.ChoiceField(label="Unit")
    reason = forms.CharField(
        label="Reason", max_length=200, error_messages={"required": "Give the reason."}
    )

    def __init__(self, *args: Any, numbers: list[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["unit_number"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(number, number) for number in numbers]


class ChargeForm(forms.Form):
    """What is charged for one missing piece or one damage, and why."""

    label = forms.CharField(label="What", max_length=160, required=False)
    amount = forms.DecimalField(
        label="Charge, USD",
        required=False,
        min_value=Decimal(0),
        max_digits=10,
        decimal_places=2,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    why = forms.CharField(label="Reason, as the customer reads it", max_length=300, required=False)

    def clean(self) -> dict[str, Any]:
        """An amount needs a reason, and so does no charge for a piece that is missing."""
        data: dict[str, Any] = super().clean() or {}
        if data.get("amount") is not None and not data.get("why"):
            self.add_error("why", "Give the reason; zero needs one too.")
        if data.get("amount") is not None and not data.get("label"):
            self.add_error("label", "Say what it is for.")
        return data
