"""The quoting application."""

from __future__ import annotations

from django.apps import AppConfig


class QuotesApp(AppConfig):
    name = "quotes"
    default_auto_field = "django.db.models.BigAutoField"
