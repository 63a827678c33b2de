"""For what a one-time code is needed: nothing, the owner's tables, or the whole desk."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest

NOBODY, ADMIN, EVERYBODY = "nobody", "admin", "everybody"
CHOICES = (NOBODY, ADMIN, EVERYBODY)


def signed_in_with_code(request: HttpRequest) -> bool:
    """Whether this session was opened, or its codes switched on, with a right code."""
    return bool(getattr(request.user, "otp_device", None))


def code_missing_for_admin(request: HttpRequest) -> bool:
    return settings.SETWRIGHT_CODES_FOR != NOBODY and not signed_in_with_code(request)


def code_missing_for_desk(request: HttpRequest) -> bool:
    return settings.SETWRIGHT_CODES_FOR == EVERYBODY and not signed_in_with_code(request)
