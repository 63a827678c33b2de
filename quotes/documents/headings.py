"""The document's own words: headings, columns and labels, in the language it is made in."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from quotes.documents.retold import in_english

Facts = Mapping[str, Any]


def headings(facts: Facts, link: str) -> dict[str, str]:
    """Every word of the document that is not a fact of the quote, by the name the template uses."""
    words = _words(get_language())
    return {**words, **_filled(words, facts, link)}


def _filled(words: Mapping[str, str], facts: Facts, link: str) -> dict[str, str]:
    """The words with places, and in them what the quote says."""
    number, deposit, phone = facts["number"], facts["deposit"], facts["company"]["phone"]
    return {
        "title": words["title"].format(number=number, headline=facts["headline"]),
        "revision": words["revision"].format(revision=facts["revision"]),
        "page": words["page"].format(number=number),
        "deposit_short": words["deposit_short"].format(deposit=deposit) if deposit else "USD",
        "hire": words["hire"].format(days=facts["dates"]["days"]),
        "to_accept": words["to_accept"].format(phone=phone),
        "qr": words["qr"].format(link=link),
        "deposit": words["deposit"].format(deposit=deposit),
        "terms": words["terms"].format(version=facts["terms_version"]),
    }


@lru_cache(maxsize=8)
def _words(language: str | None) -> dict[str, str]:
    """The words in the language in force, which is this one; the same on every quote."""
    return {
        "language": (language or "en").partition("-")[0],
        **_head(),
        **_price(),
        **_engineering(),
        **_end(),
    }


def _head() -> dict[str, str]:
    return {
        "title": _("Quote {number}, {headline}"),
        "quote": _("Quote"),
        "revision": _("Revision {revision}"),
        "page": _("Quote {number} · page"),
        "of": _("1 of 1"),
        "total_taxes_in": _("Total, taxes in"),
        "deposit_short": _("USD, and ${deposit} deposit, returned"),
        "hire": _("Hire, {days}"),
        "to": _("to"),
        "holds_until": _("Price holds until"),
        "to_accept": _("To accept: scan the code, or call {phone}."),
        "qr": _("QR code that opens this quote on the web: {link}"),
        "for_whom": _("For"),
        "this_revision": _("This revision:"),
    }


def _price() -> dict[str, str]:
    return {
        "price": _("Price"),
        "item": _("Item"),
        "quantity": _("Quantity"),
        "amount": _("Amount, USD"),
        "before_tax": _("Before tax"),
        "total": _("Total"),
        "deposit": _("A deposit of ${deposit} is held and returned; it is not part of the total."),
        "period": _("How the period was priced."),
    }


def _engineering() -> dict[str, str]:
    return {
        "why": _("Why this set"),
        "diagram": _(
            "One-line diagram: the set on the left, its leads, and the equipment it feeds on the"
            " right."
        ),
        "chart": _("Mean load by hour of the day against the rating at the site"),
        "chart_said": _(
            "Bar chart of the mean load in kilowatts for each hour of the day, with the rating of"
            " the set at this site as a line above it."
        ),
        "along": _("Goes along"),
        "checks": _("Checks"),
        "check": _("Check"),
        "required": _("Required"),
        "provided": _("Provided"),
        "result": _("Result"),
        "passed": _("passed"),
        "not_passed": _("not passed"),
        "see_notes": _("see the notes"),
    }


def _end() -> dict[str, str]:
    return {
        "assumed": _("What we assumed, and what to know"),
        "take_care": _("Take care:"),
        "settled": _("Settled with a sales rep:"),
        "before": _("Before you connect it"),
        "terms": _("Terms (version {version})"),
        "terms_note": ""
        if in_english()
        else _("The terms hold as the hire company wrote them, in English."),
    }
