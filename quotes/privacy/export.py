"""Everything that is kept of a person, for that person to read."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db import models, transaction
from django.db.models import Q

from intake.events.services import event_record
from intake.models import HireRequest, OutboxMessage
from quotes.models import QuoteDocument
from quotes.privacy.holdings import HOLDINGS, Holding
from quotes.privacy.person import kept_elsewhere, requests_of

NEVER_GIVEN = frozenset({"token_hash", "document_sha256"})  # keys to doors, not facts of a person


@transaction.atomic
def person_export(*, email: str, actor: str, now: datetime) -> dict[str, Any]:
    """All rows of all requests that gave this address, table by table; the giving is recorded."""
    requests = requests_of(email)
    for request in requests:
        event_record(kind="person_exported", now=now, actor=actor, request=request)
    return {
        "email": email,
        "made_at": now.isoformat(),
        "requests": [_record(request) for request in requests],
        **{
            _title(one): [_record(row) for row in one.rows(requests)]
            for one in HOLDINGS
            if one.given
        },
        "letters": [_record(row) for row in letters_of(requests, email)],
        "kept_elsewhere": kept_elsewhere(email),
    }


def files_of(requests: Iterable[HireRequest]) -> list[tuple[str, bytes]]:
    """Photos and quotes, by the name they get in the archive."""
    found = []
    requests = list(requests)
    for holding in HOLDINGS:
        if holding.file:
            for row in holding.rows(requests):
                kept = getattr(row, holding.file)
                with kept.storage.open(kept.name) as content:
                    found.append((kept.name, content.read()))
    for document in QuoteDocument.objects.filter(quote__request__in=requests):
        found.append((f"quotes/{document.quote.number}.pdf", bytes(document.content)))
    return found


def letters_of(requests: Iterable[HireRequest], email: str) -> list[OutboxMessage]:
    """Messages about these requests or to this address that are still kept."""
    about = Q(payload__request_id__in=[request.pk for request in requests])
    to_them = Q(payload__address__iexact=email.strip()) if email else Q()
    return list(OutboxMessage.objects.filter(about | to_them).order_by("created_at"))


def _title(holding: Holding) -> str:
    return str(holding.model._meta.verbose_name_plural)


def _record(row: models.Model) -> dict[str, Any]:
    fields = (field for field in row._meta.concrete_fields if field.name not in NEVER_GIVEN)
    return {field.name: _plain(field.value_from_object(row)) for field in fields}


def _plain(value: Any) -> Any:
    if value is None or isinstance(value, bool | int | float | str | list | dict):
        return value
    return str(value)
