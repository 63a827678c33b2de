"""The record as CSV that a spreadsheet opens without running anything."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain

from django.http import StreamingHttpResponse

from intake.events.kinds import sentence
from intake.models import Event

COLUMNS = ("at_utc", "who", "kind", "request", "subject", "sentence")
DANGEROUS = ("=", "+", "-", "@", "\t", "\r")


class _Line:
    """A file of one line: what is written is handed back."""

    def write(self, text: str) -> str:
        return text


def csv_lines(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> Iterator[str]:
    """CSV line by line, with a mark that tells spreadsheets it is UTF-8."""
    writer = csv.writer(_Line())
    yield "\ufeff"
    for row in chain([columns], rows):
        yield writer.writerow([harmless(value) for value in row])


def harmless(value: object) -> str:
    """A cell that no spreadsheet takes for a formula; a number stays a number."""
    text = "" if value is None else str(value)
    if text.startswith(DANGEROUS) and not _number(text):
        return f"'{text}"
    return text


def _number(text: str) -> bool:
    return text.lstrip("+-").replace(".", "", 1).replace(",", "").isdigit()


def csv_response(
    name: str, columns: Sequence[str], rows: Iterable[Sequence[object]]
) -> StreamingHttpResponse:
    """A download, sent as it is made."""
    response = StreamingHttpResponse(csv_lines(columns, rows), content_type="text/csv")
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def event_rows(events: Iterable[Event]) -> Iterator[tuple[object, ...]]:
    """Events as rows of the export."""
    for event in events:
        reference = event.request.reference if event.request else ""
        yield (
            event.at.isoformat(timespec="seconds"),
            event.actor_label,
            event.kind,
            reference,
            event.subject,
            sentence(event),
        )
