"""Letters about a hire under way: to the customer, and to the branch."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext as _

from quotes.documents.facts import company_facts, customer_facts
from quotes.documents.links import own_link
from quotes.documents.retold import day_words, retold_all
from quotes.models import HireChange, Order, Reading, ServiceCase


def note_letters(reading: Reading, message_id: str) -> list[EmailMessage]:
    """What stands out in a reading, to the customer and to the branch."""
    order = reading.out_unit.order
    context = {"reading": reading, "unit": reading.out_unit.unit.number}
    with translation.override(order.request.language):
        subject = _("Order %s: please look at the set") % order.number
    return _to_both(order, subject, "note", context, message_id)


def change_letters(change: HireChange, message_id: str) -> list[EmailMessage]:
    """A new last day, as it was agreed."""
    with translation.override(change.order.request.language):
        context = {
            "change": change,
            "last_day": day_words(change.to_end),
            "lines": retold_all(change.lines),
        }
        subject = _("Order %s: new last day") % change.order.number
    return _to_both(change.order, subject, "change", context, message_id)


def case_letters(case: ServiceCase, message_id: str) -> list[EmailMessage]:
    """A set that does not do what it should, to the branch."""
    order = case.out_unit.order
    subject = f"{case.kind}: {case.out_unit.unit.number}, {order.number}"
    body = _body("case", order, {"case": case, "unit": case.out_unit.unit.number})
    return [_letter(subject, body, company_facts(order.quote)["email"], f"{message_id}-branch")]


def _to_both(
    order: Order, subject: str, name: str, context: Mapping[str, Any], message_id: str
) -> list[EmailMessage]:
    with translation.override(order.request.language):
        body = _body(name, order, context)
    addresses = {
        "customer": customer_facts(order.quote)["email"],
        "branch": company_facts(order.quote)["email"],
    }
    return [
        _letter(subject, body, address, f"{message_id}-{who}")
        for who, address in addresses.items()
        if address
    ]


def _body(name: str, order: Order, context: Mapping[str, Any]) -> str:
    facts = {"order": order, "company": company_facts(order.quote), "link": own_link(order.request)}
    return render_to_string(f"quotes/handover/mails/{name}.txt", {**facts, **context})


def _letter(subject: str, body: str, address: str, message_id: str) -> EmailMessage:
    headers = {"Message-ID": f"<{message_id}@setwright>"}
    return EmailMessage(subject=subject, body=body, to=[address], headers=headers)
