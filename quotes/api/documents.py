"""Quotes, orders and the catalogue as the API gives them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.urls import reverse

from intake.api.documents import moment
from quotes.building.options import options_of
from quotes.models import (
    Booking,
    Branch,
    CardFee,
    Order,
    Quote,
    Rate,
    RateCard,
    SetType,
    Unit,
)
from quotes.pricing.terms import FeeCode

Document = dict[str, Any]
CURRENCY = "USD"
NO_PAPERS: Document = {"sheet": None, "card": None}
PERCENT_FEES = frozenset(
    {FeeCode.ENVIRONMENTAL, FeeCode.DAMAGE_WAIVER, FeeCode.EMERGENCY_UPLIFT, FeeCode.DEPOSIT}
)


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
                **_papers("order_paper", order.request.reference, one.unit.number),
            }
            for one in bookings.order_by("unit_id")
        ],
    }


def booking_document(booking: Booking) -> Document:
    """A unit held for an order, or for a need of an emergency that has no order yet."""
    order = booking.order
    goes_out = order is not None and booking.cancelled_at is None
    return {
        "id": booking.pk,
        "unit": booking.unit.number,
        "set_code": booking.unit.set_type.code,
        "branch": booking.unit.branch.code,
        "order": order.number if order else None,
        "reference": order.request.reference if order else None,
        "starts_on": str(booking.starts_on),
        "ends_on": str(booking.ends_on),
        "free_on": str(booking.free_on),
        "cancelled_at": moment(booking.cancelled_at),
        **(_papers("booking_paper", booking.pk) if goes_out else NO_PAPERS),
    }


def _papers(route: str, *of: Any) -> Document:
    """Where the papers of a unit that goes out are."""
    return {name: reverse(f"api:{route}", args=[*of, name]) for name in NO_PAPERS}


def unit_document(unit: Unit) -> Document:
    """One machine of the fleet."""
    return {
        "number": unit.number,
        "set_code": unit.set_type.code,
        "branch": unit.branch.code,
        "state": unit.state,
        "engine_hours": {"value": unit.engine_hours, "unit": "h"},
        "note": unit.note,
    }


def own_set_document(one: SetType) -> Document:
    """A type of set as its owner keeps it."""
    return {
        "code": one.code,
        "name": one.name,
        "prime": {"value": float(one.prime_kw), "unit": "kW"},
        "offered": one.offered,
        "record": one.record,
    }


def card_document(card: RateCard) -> Document:
    """A rate card without its prices."""
    names = ("code", "name", "in_use", "minimum_days", "valid_days", "terms_version")
    return {
        **{name: getattr(card, name) for name in names},
        "branch": card.branch.code if card.branch else "",
        "valid_from": str(card.valid_from),
        "valid_until": str(card.valid_until) if card.valid_until else None,
        "adjustment_limit_percent": f"{card.adjustment_limit_percent:.2f}",
    }


def price_document(rate: Rate) -> Document:
    """What one item costs on a card."""
    return {
        "item_code": rate.item_code,
        **{name: money(getattr(rate, name)) for name in ("day", "week", "four_weeks")},
        "once": _money_or_none(rate.once),
    }


def fee_document(fee: CardFee) -> Document:
    """A fee of a card: an amount, or a share in percent."""
    unit = "%" if fee.code in PERCENT_FEES else CURRENCY
    return {
        "code": fee.code,
        "amount": {"value": f"{fee.amount:.2f}", "unit": unit},
        "quantity": f"{fee.quantity:.2f}",
        "minimum": _money_or_none(fee.minimum),
        "cap": _money_or_none(fee.cap),
    }


def _money_or_none(amount: Decimal | None) -> Document | None:
    return None if amount is None else money(amount)


def revision_document(quote: Quote) -> Document:
    """One revision as a line of the list."""
    return {
        "number": quote.number,
        "revision": quote.revision,
        "state": quote.state,
        "total": money(quote.total),
        "offered_at": moment(quote.offered_at),
        "valid_until": moment(quote.valid_until),
        "document": reverse("api:quote_document", args=[quote.request.reference, quote.revision]),
    }


def branch_document(branch: Branch) -> Document:
    names = ("code", "name", "zip", "state", "phone", "emergency_phone")
    return {name: getattr(branch, name) for name in names}
