"""Papers of a unit that goes out: its delivery sheet and its start card."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from intake.api.operations import ID, REFERENCE, operation, pdf_response
from intake.api.requests import request_of
from intake.api.view import ApiView
from intake.requests.errors import ServiceRefusal
from quotes.api.bookings import BookingView
from quotes.api.pdf import Pdf, pdf_answer
from quotes.handover.facts import card_facts, sheet_facts
from quotes.handover.pdf import handover_pdf
from quotes.handover.units import WITH_ALL
from quotes.models import OutUnit

FACTS = {"sheet": sheet_facts, "card": card_facts}
PAPER = OpenApiParameter(
    "paper", {"type": "string", "enum": list(FACTS)}, OpenApiParameter.PATH,
    description="`sheet` to deliver by, `card` to start the set by.",
)  # fmt: skip
UNIT = OpenApiParameter(
    "unit", str, OpenApiParameter.PATH, pattern="^[A-Za-z0-9][A-Za-z0-9_-]{0,29}$",
    description="`unit` among the bookings of the order.",
)  # fmt: skip
PDF: dict[Any, Any] = {(200, "application/pdf"): pdf_response()}


class NoPaper(ServiceRefusal):
    code = "no_paper"
    status_code = 404
    sentence = "No unit goes out by this booking: its order was not made yet, or was cancelled."


class PaperView(ApiView):
    """What the papers of a unit share."""

    renderer_classes = (Pdf,)

    def paper(self, found: dict[str, Any], name: str) -> Response:
        """The paper of the unit that goes out, as it would be printed now."""
        units = OutUnit.objects.select_related(*WITH_ALL).filter(booking__cancelled_at=None)
        out = units.filter(**found).first()
        if out is None or name not in FACTS:
            raise NoPaper
        content = handover_pdf(name, FACTS[name](out), made_at=self.now)
        return pdf_answer(content, f"{name}-{out.unit.number}")


class OrderPaper(PaperView):
    scope = "quotes"

    @operation(
        "Read the delivery sheet or the start card of a unit of your order", "quotes", PDF,
        id="read_order_paper", takes=(REFERENCE, UNIT, PAPER),
    )  # fmt: skip
    def get(self, request: Request, reference: str, unit: str, paper: str) -> Response:
        found = request_of(self.client, reference)
        return self.paper({"order__request": found, "unit__number": unit}, paper)


class BookingPaper(PaperView, BookingView):
    @operation(
        "Read the delivery sheet or the start card of a booking", "bookings", PDF,
        id="read_booking_paper", takes=(ID, PAPER),
    )  # fmt: skip
    def get(self, request: Request, id: int, paper: str) -> Response:
        return self.paper({"booking__in": self.bookings().filter(pk=id)}, paper)
