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
        user: Any = self.get_user()
        if user is not None and user_has_device(user):
            user.otp_device = self._device()  # kept in the session by django-otp at the sign-in
            if user.otp_device is None:
                raise ValidationError(
                    _("The one-time code is missing or not the code of this minute.")
                )
        return cleaned

    def _device(self) -> Any:
        """The device of this person that takes the code; devices slow down who guesses."""
        token = str(self.cleaned_data.get("otp_token", "")).replace(" ", "")
        return match_token(self.get_user(), token) if token else None
