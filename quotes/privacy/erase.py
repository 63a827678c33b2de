"""Erasing a person: what accounting and the law need stays, with nobody's name in it.

Orders, prices, times, readings and the engineering decisions stay; who it was, how to reach them,
what they wrote in own words, and photos go. Messages and the record are included: this is the one
place that changes the record, and it leaves an event that says so.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import partial
from typing import Any

from django.db import models, transaction

from intake.api.idempotency import answer_of, answer_text
from intake.events.services import event_record
from intake.models import Answer, Case, Event, HireRequest, IdempotencyRecord, OutboxMessage
from intake.requests.links import link_renew
from quotes.documents.services import document_content
from quotes.models import QuoteDocument
from quotes.privacy.export import letters_of
from quotes.privacy.forgetting import forget
from quotes.privacy.holdings import ERASED, HOLDINGS, PERSONAL_ANSWERS, Holding
from quotes.privacy.person import Names, kept_elsewhere, names_of, requests_of

SAID = frozenset({"name", "by", "words", "text", "answer"})  # of an event: who, or own words


class StillNeeded(Exception):
    """The address belongs to somebody who must stay reachable."""

    def __init__(self, where: list[str]) -> None:
        self.where = where
        super().__init__(
            f"This address is still needed: {'; '.join(where)}. Name somebody else there first "
            "(staff: close the account), then erase."
        )


@transaction.atomic
def person_erase(*, email: str, actor: str, now: datetime) -> list[str]:
    """Erase the person behind an address; returns the references of what was touched."""
    if where := kept_elsewhere(email):
        raise StillNeeded(where)
    requests = requests_of(email)
    for message in letters_of(requests, email):
        message_erase(message, names_of(requests))
    for request in requests:
        request_erase(request=request, actor=actor, now=now)
    return [request.reference for request in requests]


@transaction.atomic
def request_erase(*, request: HireRequest, actor: str, now: datetime) -> None:
    """Blank what one request and all that followed it say of people.

    1. Gather the names first: after the blanking nobody knows them.
    2. Blank fields, search texts, delete photos (their files after the change is safe).
    3. Answers go, the link ends, documents are set anew without the names; the digest stays that
       of the document as it was accepted.
    4. Once the change is safe, what this process keeps in memory goes too.
    """
    names = names_of([request])
    for holding in HOLDINGS:
        holding_erase(holding, request, names)
    record_erase(request, names)
    Answer.objects.filter(request=request, key__in=PERSONAL_ANSWERS).delete()
    Case.objects.filter(request=request).update(search_text=request.reference.lower())
    for message in letters_of([request], ""):
        message_erase(message, names)
    answers_given_erase(request, names)
    link_renew(request=request)
    HireRequest.objects.filter(pk=request.pk).update(link_expires_at=now)
    documents_redraw(request)
    event_record(kind="person_erased", now=now, actor=actor, request=request)
    transaction.on_commit(forget)


def holding_erase(holding: Holding, request: HireRequest, names: Names) -> None:
    """One table's rows of a request."""
    rows = holding.rows([request])
    if holding.file:
        photos_delete(rows, holding.file)
        return
    if holding.blank:
        rows.update(**holding.blank)
    for row in rows if holding.search else ():
        changed = {name: names.blanked(getattr(row, name)) for name in holding.search}
        if any(getattr(row, name) != value for name, value in changed.items()):
            holding.model._base_manager.filter(pk=row.pk).update(**changed)


def photos_delete(rows: Any, field: str) -> None:
    """Delete rows and, once that is certain, their files."""
    for row in rows:
        kept = getattr(row, field)
        transaction.on_commit(_deletion(kept.storage, str(kept.name)))
    rows.delete()


def _deletion(storage: Any, name: str) -> Callable[[], None]:
    return partial(storage.delete, name)


def record_erase(request: HireRequest, names: Names) -> None:
    """The record's rows: answers about the person, and what somebody said in own words."""
    rows: models.QuerySet[Event] = Event._base_manager.filter(request=request)
    for event in rows:
        personal = event.subject in PERSONAL_ANSWERS
        data = {
            key: ERASED if value and (personal or key in SAID) else names.blanked(value)
            for key, value in event.data.items()
        }
        if data != event.data:
            Event._base_manager.filter(pk=event.pk).update(data=data)


def message_erase(message: OutboxMessage, names: Names) -> None:
    """A message to a worker: its address, and an error that may repeat it."""
    payload = {
        key: ERASED if key == "words" and value else "" if key == "address" else value
        for key, value in message.payload.items()
    }
    OutboxMessage.objects.filter(pk=message.pk).update(
        payload=names.blanked(payload), last_error=names.blanked(message.last_error)
    )


def answers_given_erase(request: HireRequest, names: Names) -> None:
    """Answers of the API kept to be given again, where a program made the request."""
    for record in IdempotencyRecord.objects.filter(client__made__request=request):
        body = answer_text(names.blanked(answer_of(record)))
        IdempotencyRecord.objects.filter(pk=record.pk).update(body=body)


def documents_redraw(request: HireRequest) -> None:
    """Set the documents anew from what is left; moment and digest stay those of the original."""
    documents = QuoteDocument.objects.filter(quote__request=request)
    for document in documents.select_related("quote__request", "quote__run", "quote__branch"):
        content = document_content(quote=document.quote, now=document.made_at)
        QuoteDocument.objects.filter(pk=document.pk).update(content=content)
