"""Sessions of browsers, with what a person needs to know the own ones by."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from django.conf import settings
from django.contrib.sessions.base_session import AbstractBaseSession
from django.db import models


class WebSession(AbstractBaseSession):
    """One browser's session; ``user`` is who signed in with it, if anybody did.

    Written by the engine that the settings name, which ends one in which nothing is done.
    """

    user = models.ForeignKey(
        "auth.User", null=True, blank=True, on_delete=models.CASCADE, related_name="sessions"
    )
    began_at = models.DateTimeField()
    seen_at = models.DateTimeField()
    agent = models.CharField(max_length=200, blank=True)  # as the browser names itself
    address = models.GenericIPAddressField(null=True, blank=True)

    @classmethod
    def get_session_store_class(cls) -> Any:
        return import_module(settings.SESSION_ENGINE).SessionStore
