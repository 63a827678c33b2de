"""``setwright handover_demo``: one demo order walked from acceptance to its final statement."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from quotes.demo.handover import NoOffer, handover_walk


class Command(BaseCommand):
    help = "Walk one demo order from acceptance to its final statement, and write its PDFs."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--folder", type=Path, help="where the PDFs are written")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            walked = handover_walk(now=timezone.now())
        except NoOffer as refusal:
            raise CommandError(str(refusal)) from refusal
        for sentence in walked.told:
            self.stdout.write(sentence)
        if options["folder"]:
            self._write(options["folder"], walked.documents)

    def _write(self, folder: Path, documents: dict[str, bytes]) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in documents.items():
            (folder / f"{name}.pdf").write_bytes(content)
            self.stdout.write(f"Wrote {folder / name}.pdf")
