"""``setwright person_erase EMAIL``: blank a person, keep what accounting and the law need."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from quotes.privacy.erase import StillNeeded, person_erase
from quotes.privacy.person import requests_of


class Command(BaseCommand):
    help = "Blank the person with this e-mail address wherever it is kept. It cannot be undone."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("email")
        parser.add_argument("--yes", action="store_true", help="do it; without, only say what")
        parser.add_argument("--by", default="operator", help="who does it, for the record")

    def handle(self, *args: Any, **options: Any) -> None:
        email = options["email"]
        if not options["yes"]:
            found = ", ".join(request.reference for request in requests_of(email)) or "none"
            self.stdout.write(f"Requests of this address: {found}. Add --yes to erase the person.")
            return
        try:
            touched = person_erase(email=email, actor=options["by"], now=timezone.now())
        except StillNeeded as refusal:
            raise CommandError(str(refusal)) from refusal
        self.stdout.write(f"Erased in {len(touched)} requests: {', '.join(touched) or 'none'}.")
