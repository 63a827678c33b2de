"""What the desk enters for the record of one set at one site."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms

from quotes.emergency.papers.services import Readings

PLAIN: dict[str, Any] = {"autocomplete": "off"}
MOST_DAYS = 366


def moment(label: str, required: str) -> forms.DateTimeField:
    return forms.DateTimeField(
        label=label,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        error_messages={"required": required, "invalid": f"{required} Like 2027-01-20 18:30."},
    )


def amount(label: str, most: int, places: int, said: str) -> forms.DecimalField:
    """A number of hours or gallons that may be left empty."""
    message = f"{said} Give a number from 0 to {most:,}, or leave it empty."
    return forms.DecimalField(
        label=label,
        required=False,
        min_value=0,
        max_value=most,
        decimal_places=places,
        widget=forms.TextInput(attrs={**PLAIN, "inputmode": "decimal"}),
        error_messages=dict.fromkeys(
            ("invalid", "min_value", "max_value", "max_decimal_places", "max_digits"), message
        ),
    )


class RecordForm(forms.Form):
    """Times, meter, fuel and labour of one set at one site."""

    started_at = moment("Set running from", "When did the set start?")
    stopped_at = moment("Set stopped at", "When was the set stopped?")
    meter_start = amount("Hour meter at the start", 999_999, 1, "What did the hour meter show?")
    meter_end = amount("Hour meter at the end", 999_999, 1, "What did the hour meter show?")
    fuel_gallons = amount("Fuel delivered, gallons", 1_000_000, 1, "How much fuel?")
    labour_hours = amount("Labour, hours", 100_000, 2, "How many hours of labour?")
    note = forms.CharField(
        label="Work performed and remarks",
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3, **PLAIN}),
    )

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or {}
        started, stopped = found.get("started_at"), found.get("stopped_at")
        if started and stopped and stopped <= started:
            self.add_error("stopped_at", "The set must stop after it started.")
        elif started and stopped and (stopped - started).days > MOST_DAYS:
            self.add_error("stopped_at", "More than a year: look at the dates again.")
        self._clean_meter(found)
        return found

    def _clean_meter(self, found: dict[str, Any]) -> None:
        start, end = found.get("meter_start"), found.get("meter_end")
        if "meter_start" in self.errors or "meter_end" in self.errors:
            return
        if (start is None) != (end is None):
            self.add_error("meter_end", "Give both readings of the hour meter, or neither.")
        elif start is not None and end is not None and end < start:
            self.add_error("meter_end", "The hour meter cannot run back.")

    def readings(self) -> Readings:
        found = self.cleaned_data
        return Readings(
            started_at=found["started_at"],
            stopped_at=found["stopped_at"],
            meter_start=found["meter_start"],
            meter_end=found["meter_end"],
            fuel_gallons=found["fuel_gallons"] or Decimal(0),
            labour_hours=found["labour_hours"] or Decimal(0),
            note=found["note"].strip(),
        )
