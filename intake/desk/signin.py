"""Signing in: a password, and a one-time code for those who chose to use one."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _
from django_otp import match_token, user_has_device


class SignInForm(AuthenticationForm):
    """The code is asked of everybody and needed by those who have a device."""

    otp_token = forms.CharField(
        required=False,
        max_length=20,
        label=_("One-time code, if you use one"),
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "inputmode": "numeric"}),
    )

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean()
        if user_has_device(self.get_user()) and not self._code_right():
            raise ValidationError(_("The one-time code is missing or not the code of this minute."))
        return cleaned

    def _code_right(self) -> bool:
        """Whether a device of this person takes the code; devices slow down who guesses."""
        token = str(self.cleaned_data.get("otp_token", "")).replace(" ", "")
        return bool(token) and match_token(self.get_user(), token) is not None
