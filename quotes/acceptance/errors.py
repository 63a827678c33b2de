"""Refusals about accepting an offer."""

from __future__ import annotations

from intake.requests.errors import ServiceRefusal


class OfferClosed(ServiceRefusal):
    """The offer is not open any more: expired, replaced, accepted or declined."""

    code = "offer_closed"
    sentence = "This offer is not open any more. Nothing was ordered. Load the page to see it now."
