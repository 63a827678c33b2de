"""Tasks that send letters; a message marked as sent is not sent again."""

from __future__ import annotations

from celery import current_task, shared_task
from django.core.mail import EmailMessage

from intake.outbox.once import sends_once
from quotes.mailing.letters import order_letter, quote_letter
from quotes.models import Order, Quote

WITH_ALL = ("request", "run", "branch", "card")


def _message_id() -> str:
    """The task's id: the outbox row's, so that a letter sent twice can be told."""
    return str(current_task.request.id)


def _send(letter: EmailMessage | None) -> None:
    if letter is not None:
        letter.send()


@shared_task(name="quotes.mail_offer")
@sends_once("quotes.mail_offer")
def mail_offer(quote_id: int) -> None:
    """Tell the customer that the quote is ready."""
    quote = Quote.objects.select_related(*WITH_ALL).get(pk=quote_id)
    _send(quote_letter(quote, kind="offer", message_id=_message_id()))


@shared_task(name="quotes.mail_reminder")
@sends_once("quotes.mail_reminder")
def mail_reminder(quote_id: int) -> None:
    """Remind the customer of an offer that still stands."""
    quote = Quote.objects.select_related(*WITH_ALL).get(pk=quote_id)
    if quote.state == "offered":
        _send(quote_letter(quote, kind="reminder", message_id=_message_id()))


@shared_task(name="quotes.mail_order")
@sends_once("quotes.mail_order")
def mail_order(order_id: int) -> None:
    """Confirm an order, with the PDF."""
    order = Order.objects.select_related(
        "request", "acceptance", "quote__request", "quote__run", "quote__branch", "quote__card"
    ).get(pk=order_id)
    _send(order_letter(order, message_id=_message_id()))
