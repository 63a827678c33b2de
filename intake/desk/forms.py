"""What the desk's small forms hold, read strictly."""

from __future__ import annotations

from datetime import datetime, timedelta

from django import forms
from django.contrib.auth.models import User

from intake.desk.choosing import Choice
from intake.models import FindingState

REASON = 500


class Reason(forms.Form):
    """A reason, and nothing else."""

    reason = forms.CharField(max_length=REASON, error_messages={"required": "Write why."})


class PassOn(Reason):
    to = forms.ModelChoiceField(
        User.objects.filter(is_active=True), error_messages={"required": "Choose a colleague."}
    )


class PutOff(Reason):
    hours = forms.IntegerField(
        min_value=1, max_value=24 * 30, error_messages={"required": "Say for how many hours."}
    )

    def until(self, now: datetime) -> datetime:
        return now + timedelta(hours=self.cleaned_data["hours"])


class Ask(forms.Form):
    words = forms.CharField(max_length=2000, error_messages={"required": "Write the question."})
    finding = forms.IntegerField(required=False, min_value=1, max_value=2**62)


class Phone(Ask):
    answer = forms.CharField(
        max_length=2000, error_messages={"required": "Write what the customer said."}
    )


class Settle(Reason):
    state = forms.ChoiceField(
        choices=[(s.value, s.label) for s in (FindingState.CONFIRMED, FindingState.ACCEPTED)]
    )


class Words(forms.Form):
    words = forms.CharField(
        max_length=1000, error_messages={"required": "Write what the customer will read."}
    )


class Note(forms.Form):
    text = forms.CharField(max_length=2000, error_messages={"required": "Write the note."})


class Choose(Reason):
    """Another set, or another number of one accessory; ``own`` drops every change."""

    OWN = "own"

    sets = forms.CharField(max_length=120, required=False)
    accessory = forms.CharField(max_length=60, required=False)
    pieces = forms.IntegerField(min_value=0, max_value=99, required=False)

    def choice(self, before: Choice, by: str) -> Choice:
        """The choice as it stands now, with this form's changes put in."""
        if self.cleaned_data["sets"] == self.OWN:
            return Choice(reason=self.cleaned_data["reason"], by=by)
        pieces, code = self.cleaned_data["pieces"], self.cleaned_data["accessory"]
        accessories = dict(before.accessories)
        if code and pieces is not None:
            accessories[code] = pieces
        return Choice(
            sets=self.cleaned_data["sets"] or before.sets,
            accessories=accessories,
            reason=self.cleaned_data["reason"],
            by=by,
        )
