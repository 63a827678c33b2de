"""Forms of the desk's emergency pages."""

from __future__ import annotations

from typing import Any

from django import forms

from quotes.models import ChoiceKind, TransferEquipment
from quotes.models.emergency_sites import JURISDICTION
from quotes.models.fleet import CODE

PLAIN: dict[str, Any] = {"autocomplete": "off"}


def text(label: str, required: str, *, most: int = 300, **more: Any) -> forms.CharField:
    """A line of text that must be given."""
    return forms.CharField(
        label=label,
        max_length=most,
        error_messages={"required": required},
        widget=forms.TextInput(attrs=PLAIN),
        **more,
    )


class EventForm(forms.Form):
    """A new event."""

    name = text("What happened and where", "Say what happened and where.", most=120,
                help_text="Like: Ice storm, Alder County")  # fmt: skip
    code = text("Short code", "Give a short code; it is part of the address.", most=40,
                validators=[CODE], help_text="Letters, digits and hyphens.")  # fmt: skip
    jurisdiction = forms.CharField(
        label="State, or state and county",
        required=False,
        max_length=64,
        validators=[JURISDICTION],
        help_text="Like CO or CO-Morgan. Needs of this place are taken in by themselves.",
        widget=forms.TextInput(attrs=PLAIN),
    )
    expected_end = forms.DateTimeField(
        label="Expected end",
        required=False,
        help_text="By the clock of the place. Sets are held until then; empty: the usual days.",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        error_messages={"invalid": "Give day and time, like 2027-01-20 12:00."},
    )


class PlanForm(forms.Form):
    """A new plan is asked for."""

    reason = forms.CharField(
        label="Why plan now", required=False, max_length=300, widget=forms.TextInput(attrs=PLAIN)
    )


class ChoiceForm(forms.Form):
    """A unit is pinned to a need, or kept from it."""

    unit = text("Set number", "Give the number of the set.", most=30)
    kind = forms.ChoiceField(
        label="What",
        choices=ChoiceKind.choices,
        error_messages={"required": "Say whether it is pinned or forbidden."},
    )
    reason = text("Reason", "Give the reason; others read it when they plan.")


class ClearForm(forms.Form):
    """A person looked at a need; from now on plans may serve it."""

    transfer_equipment = forms.ChoiceField(
        label="What parts the building from the utility",
        required=False,
        choices=[("", "as it is entered"), *TransferEquipment.choices],
    )
    reason = text("What was settled, and with whom", "Say what was settled, and with whom.")


class FailForm(forms.Form):
    """A set fails."""

    reason = text("What is wrong with it", "Say what is wrong with the set.")
