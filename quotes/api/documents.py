"""Quotes, orders and the catalogue as the API gives them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.urls import reverse

from intake.api.documents import moment
from quotes.building.options import options_of
from quotes.models import Branch, Order, Quote

Document = dict[str, Any]
CURRENCY = "USD"


def money(amount: Decimal) -> Document:
    """An amount as value and unit."""
    return {"value": f"{amount:.2f}", "unit": CURRENCY}


def quote_document(quote: Quote) -> Document:
    """One revision with its lines; what is read here is what the PDF says."""
    return {
        "number": quote.number,
        "revision": quote.revision,
        "state": quote.state,
        "sets": _sets(quote),
        "branch": quote.branch.code if quote.branch else "",
        "starts_on": str(quote.starts_on),
        "ends_on": str(quote.ends_on),
        "lines": [_line(line) for line in quote.lines.all()],
        "taxes": [_tax(tax) for tax in quote.taxes.all()],
        **{name: money(getattr(quote, name)) for name in ("net", "tax", "total", "deposit")},
        "terms_version": quote.terms_version,
        "terms": quote.card.terms_text if quote.card else "",
        "valid_until": moment(quote.valid_until),
        "document": reverse("api:quote_document", args=[quote.request.reference, quote.revision]),
    }


def _sets(quote: Quote) -> list[Document]:
    option = options_of(quote.run.result)[quote.content["source"]["option"]]
    return [{name: one[name] for name in ("code", "name", "quantity")} for one in option["sets"]]


def _line(line: Any) -> Document:
    return {
        "kind": line.kind,
        "code": line.code,
        "label": line.label,
        "quantity": f"{line.quantity}",
        "unit": line.unit,
        "unit_price": money(line.unit_price),
        "amount": money(line.amount),
        "why": line.why,
    }


def _tax(tax: Any) -> Document:
    return {
        "name": tax.name,
        "percent": f"{tax.percent}",
        "base": money(tax.base),
        "amount": money(tax.amount),
        "exempt": tax.exempt,
    }


def order_document(order: Order) -> Document:
    """An order: what was accepted, by whom, and the units held for it."""
    bookings = order.bookings.filter(cancelled_at=None).select_related("unit__set_type")
    return {
        "number": order.number,
        "state": order.state,
        "quote": order.quote.number,
        "total": money(order.acceptance.total),
        "accepted_by": order.acceptance.name,
        "accepted_at": moment(order.acceptance.accepted_at),
        "purchase_order": order.acceptance.purchase_order,
        "bookings": [
            {
                "unit": one.unit.number,
                "set_code": one.unit.set_type.code,
                "starts_on": str(one.starts_on),
                "ends_on": str(one.ends_on),
            }
            for one in bookings.order_by("unit_id")
        ],
    }


def branch_document(branch: Branch) -> Document:
    names = ("code", "name", "zip", "state", "phone", "emergency_phone")
    return {name: getattr(branch, name) for name in names}
