"""``setwright person_export EMAIL``: everything kept of a person, as JSON or as an archive."""

from __future__ import annotations

import json
import zipfile
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from quotes.privacy.export import files_of, person_export
from quotes.privacy.person import requests_of


class Command(BaseCommand):
    help = "Give out everything that is kept of the person with this e-mail address."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("email")
        parser.add_argument("--to", type=Path, help="a new .zip, with photos and quotes in it")
        parser.add_argument("--by", default="operator", help="who does it, for the record")

    def handle(self, *args: Any, **options: Any) -> None:
        email, target = options["email"], options["to"]
        if target is not None and target.exists():
            raise CommandError(f"{target} is there already; name a new file")
        given = person_export(email=email, actor=options["by"], now=timezone.now())
        text = json.dumps(given, indent=1, ensure_ascii=False)
        if target is None:
            self.stdout.write(text)
            return
        with zipfile.ZipFile(target, "x", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("person.json", text)
            for name, content in files_of(requests_of(email)):
                archive.writestr(name, content)
        target.chmod(0o600)
        self.stdout.write(f"{len(given['requests'])} requests, written to {target}")
