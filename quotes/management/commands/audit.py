"""``setwright audit``: whether all that must hold does hold; exit code 1 where it does not."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser
from dataclasses import asdict
from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from intake.audit.breach import Breach, Invariant
from intake.audit.requests import INVARIANTS as OF_REQUESTS
from intake.audit.snapshot import snapshot
from intake.audit.webhooks import INVARIANTS as OF_WEBHOOKS
from quotes.audit.emergency import INVARIANTS as OF_EMERGENCIES
from quotes.audit.orders import INVARIANTS as OF_ORDERS

INVARIANTS: tuple[Invariant, ...] = (*OF_REQUESTS, *OF_WEBHOOKS, *OF_ORDERS, *OF_EMERGENCIES)


def breaches(*, now: datetime) -> list[Breach]:
    """Everything that is not as it must be, at one moment, while the work goes on."""
    with snapshot():
        return [breach for invariant in INVARIANTS for breach in invariant.broken(now)]


class Command(BaseCommand):
    help = "Check what must always hold: nothing lost, nothing doubled, every sum right."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="one JSON object a line")

    def handle(self, *args: Any, **options: Any) -> None:
        found = breaches(now=timezone.now())
        for breach in found:
            self.stdout.write(
                json.dumps(asdict(breach))
                if options["json"]
                else f"{breach.code}: {breach.subject}: {breach.detail}"
            )
        if found:
            sys.exit(1)
        if not options["json"]:
            self.stdout.write(f"All {len(INVARIANTS)} promises hold.")
