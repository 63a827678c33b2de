"""What the desk says of its fuel trucks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms

from quotes.emergency.fuel.facts import MOST_DAYS, FuelTerms, TruckTerms
from quotes.models import Branch
from sizing.conversions import GALLON_L

MOST_TRUCKS = 20
WHOLE: dict[str, Any] = {"autocomplete": "off", "inputmode": "numeric"}


def whole(label: str, low: int, high: int, initial: int, said: str) -> forms.IntegerField:
    """A whole number between two bounds, with one sentence for whatever is wrong."""
    message = f"{said} Give a whole number from {low} to {high}."
    return forms.IntegerField(
        label=label,
        min_value=low,
        max_value=high,
        initial=initial,
        widget=forms.TextInput(attrs=WHOLE),
        error_messages=dict.fromkeys(("required", "invalid", "min_value", "max_value"), message),
    )


class FuelForm(forms.Form):
    """Trucks by yard, their capacity and hours, and the days to plan."""

    def __init__(self, data: Any = None, *, branches: Sequence[Branch], days: int = 2) -> None:
        super().__init__(data)
        self.branches = list(branches)
        for index, branch in enumerate(self.branches):
            self.fields[f"trucks_{branch.code}"] = whole(
                f"Fuel trucks in {branch.name}", 0, MOST_TRUCKS, int(index == 0),
                f"How many fuel trucks has {branch.name}?",
            )  # fmt: skip
        self.fields["capacity_gal"] = whole(
            "What each carries, gallons", 50, 10_000, 500, "How much does a fuel truck carry?"
        )
        self.fields["first_hour"] = whole("Out from, hour of the day", 0, 23, 6, "From when?")
        self.fields["last_hour"] = whole("Back by, hour of the day", 1, 24, 22, "Until when?")
        self.fields["days"] = whole("Days to plan", 1, MOST_DAYS, days, "How many days?")

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or {}
        first, last = found.get("first_hour"), found.get("last_hour")
        if first is not None and last is not None and last <= first:
            self.add_error("last_hour", "The trucks must be back after they are out.")
        if self.branches and not self.errors and not any(self._counts(found)):
            self.add_error(f"trucks_{self.branches[0].code}", "Give at least one fuel truck.")
        return found

    def _counts(self, found: dict[str, Any]) -> list[int]:
        return [found.get(f"trucks_{branch.code}") or 0 for branch in self.branches]

    def terms(self) -> FuelTerms:
        """The cleaned form as the planning takes it; gallons become whole litres, rounded down."""
        found = self.cleaned_data
        capacity_l = int(found["capacity_gal"] * GALLON_L)
        return FuelTerms(
            trucks=tuple(
                TruckTerms(branch, found[f"trucks_{branch.code}"], capacity_l)
                for branch in self.branches
                if found[f"trucks_{branch.code}"]
            ),
            first_hour=found["first_hour"],
            last_hour=found["last_hour"],
            days=found["days"],
        )
