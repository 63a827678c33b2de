"""``setwright load_demo``: the invented company, its people, a public body, stories under way."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from quotes.demo.company import company_load
from quotes.demo.people import PASSPHRASE, people_load
from quotes.demo.public_body import public_bodies_load
from quotes.demo.stories import stories_load


class Command(BaseCommand):
    help = "Load the demo company; running it twice changes nothing."

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        company_load(now=now)
        names = people_load()
        stories_load(now=now)
        public_bodies_load(now=now)
        self.stdout.write(f"Demo sign-ins: {', '.join(names)}; passphrase {PASSPHRASE}")
