"""``setwright ice_storm``: a night in an invented county, planned and planned again."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from quotes.demo.ice_storm import StormToldAlready, ice_storm


class Command(BaseCommand):
    help = (
        "Live through the ice storm: 23 sites, 14 sets, three re-plans; say what changed and why."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            told = ice_storm(now=timezone.now())
        except StormToldAlready as told_already:
            raise CommandError(
                "The ice storm is in this database already: see /desk/emergency/ICE-STORM/, or "
                "start with a fresh SETWRIGHT_HOME."
            ) from told_already
        for line in told.lines:
            self.stdout.write(line)
        self.stdout.write("\nThe event is at /desk/emergency/ICE-STORM/ on the desk.")
