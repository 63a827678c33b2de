"""Letters about a quote, each built whole before it is sent."""

from __future__ import annotations

from typing import Any

from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext as _

from intake.models import HireRequest
from quotes.documents.facts import paper_facts
from quotes.documents.links import own_link
from quotes.models import Order, Quote


def quote_letter(quote: Quote, *, kind: str, message_id: str) -> EmailMessage | None:
    """The letter with an offer or its reminder; none where no address is known."""
    with translation.override(quote.request.language):
        return _quote_letter(quote, kind, message_id)


def _quote_letter(quote: Quote, kind: str, message_id: str) -> EmailMessage | None:
    facts = paper_facts(quote)
    subjects = {"offer": _("Your quote %s"), "reminder": _("Your quote %s holds a little longer")}
    return _letter(
        request=quote.request,
        subject=subjects[kind] % quote.number,
        template=f"quotes/mails/{kind}.txt",
        context={"facts": facts},
        message_id=message_id,
    )


def order_letter(order: Order, *, message_id: str) -> EmailMessage | None:
    """The letter that confirms an order, with the PDF."""
    with translation.override(order.request.language):
        return _order_letter(order, message_id)


def _order_letter(order: Order, message_id: str) -> EmailMessage | None:
    quote = order.quote
    letter = _letter(
        request=order.request,
        subject=_("Your order %s") % order.number,
        template="quotes/mails/order.txt",
        context={
            "facts": paper_facts(quote),
            "order": order,
            "acceptance": order.acceptance,
        },
        message_id=message_id,
    )
    if letter is not None:
        name = f"quote-{quote.number}.pdf"
        letter.attach(name, bytes(quote.document.content), "application/pdf")
    return letter


def _letter(
    *, request: HireRequest, subject: str, template: str, context: dict[str, Any], message_id: str
) -> EmailMessage | None:
    address = request.answers.filter(key="email").values_list("value", flat=True).first()
    if not address:
        return None
    body = render_to_string(template, {**context, "link": own_link(request)})
    return EmailMessage(
        subject=subject,
        body=body,
        to=[str(address)],
        headers={"Message-ID": f"<{message_id}@setwright>"},
    )
