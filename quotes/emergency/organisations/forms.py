"""Forms about a public body's link."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

ADDRESS_WRONG = _("Enter the email address we have on file, like name@example.com.")


class LinkAgainForm(forms.Form):
    """Where to send the link."""

    email = forms.EmailField(
        label=_("Email address on file"),
        error_messages=dict.fromkeys(("required", "invalid"), ADDRESS_WRONG),
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )
