"""Tasks that send the letters of a hire under way."""

from __future__ import annotations

from collections.abc import Iterable

from celery import current_task, shared_task
from django.core.mail import EmailMessage, get_connection

from intake.outbox.once import sends_once
from quotes.handover.letters import case_letters, change_letters, note_letters
from quotes.models import HireChange, Reading, ServiceCase

UNIT = ("out_unit__unit", "out_unit__order__request", "out_unit__order__quote__branch",
        "out_unit__order__quote__request")  # fmt: skip


def _send(letters: Iterable[EmailMessage]) -> None:
    get_connection().send_messages(list(letters))


def _id() -> str:
    return str(current_task.request.id)


@shared_task(name="quotes.mail_hire_note")
@sends_once("quotes.mail_hire_note")
def mail_hire_note(reading_id: int) -> None:
    """Tell both sides what stands out in a reading."""
    _send(note_letters(Reading.objects.select_related(*UNIT).get(pk=reading_id), _id()))


@shared_task(name="quotes.mail_service_case")
@sends_once("quotes.mail_service_case")
def mail_service_case(case_id: int) -> None:
    """Tell the branch that a set does not do what it should."""
    _send(case_letters(ServiceCase.objects.select_related(*UNIT).get(pk=case_id), _id()))


@shared_task(name="quotes.mail_hire_change")
@sends_once("quotes.mail_hire_change")
def mail_hire_change(change_id: int) -> None:
    """Confirm a new last day to both sides."""
    found = HireChange.objects.select_related(
        "order__request", "order__quote__branch", "order__quote__request"
    )
    _send(change_letters(found.get(pk=change_id), _id()))
