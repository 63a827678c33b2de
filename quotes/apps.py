"""The quoting application."""

from __future__ import annotations

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class QuotesApp(AppConfig):
    name = "quotes"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from quotes.emergency.ranks.services import kinds_ensure
        from quotes.roles import roles_ensure

        post_migrate.connect(roles_ensure, sender=self, dispatch_uid="quotes roles")
        post_migrate.connect(kinds_ensure, sender=self, dispatch_uid="facility kinds")
