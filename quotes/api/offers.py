"""The quote of a client's own request: read, as a document, accepted."""

from __future__ import annotations

from django.urls import reverse
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from intake.api.etags import etag
from intake.api.idempotency import idempotent
from intake.api.operations import IDEMPOTENCY, REFERENCE, operation, pdf_response
from intake.api.pages import PageQuery, page_of
from intake.api.reading import fields_read
from intake.api.requests import request_of
from intake.api.view import ApiView
from intake.models import HireRequest, Status
from intake.requests.errors import ServiceRefusal
from quotes.acceptance.errors import OfferClosed
from quotes.acceptance.services import (
    Signature,
    quote_accept,
    quote_change_ask,
    quote_decline,
)
from quotes.api import shapes
from quotes.api.documents import order_document, quote_document, revision_document
from quotes.api.pdf import Pdf, pdf_answer
from quotes.handover.facts import statement_facts
from quotes.handover.pdf import handover_pdf
from quotes.models import Order, Quote, QuoteDocument, Statement
from quotes.offers.selectors import quote_current, quote_revision, revisions_of

TAG = "quotes"
REVISION = OpenApiParameter(
    "revision", {"type": "integer", "minimum": 1, "maximum": 100_000}, OpenApiParameter.PATH
)


class NoQuote(ServiceRefusal):
    code = "no_quote"
    status_code = 404
    sentence = "There is no quote of this request yet. Its status says what happens next."


class QuoteView(ApiView):
    """What the views of quotes share."""

    scope = "quotes"

    def quote_of(self, request: HireRequest) -> Quote:
        """The quote that stands; none while a new one is being priced."""
        quote = quote_current(request)
        if quote is None or request.status in (Status.DRAFT, Status.IN_REVIEW, Status.PRICING):
            raise NoQuote(status=request.status)
        return quote


class CurrentQuote(QuoteView):
    @operation("Read the quote", TAG, {200: shapes.Quote}, id="read_quote", takes=(REFERENCE,))
    def get(self, request: Request, reference: str) -> Response:
        quote = self.quote_of(request_of(self.client, reference))
        response = Response(quote_document(quote))
        response.headers["ETag"] = etag(quote.revision)
        return response


class QuotePdf(QuoteView):
    """The document of one revision: the same bytes whenever it is asked for."""

    renderer_classes = (Pdf,)

    @operation(
        "Read the quote as a PDF", TAG, {(200, "application/pdf"): pdf_response()},
        id="read_quote_document", takes=(REFERENCE, REVISION),
    )  # fmt: skip
    def get(self, request: Request, reference: str, revision: int) -> Response:
        quote = quote_revision(request_of(self.client, reference), revision)
        kept = QuoteDocument.objects.filter(quote=quote).first() if quote else None
        if quote is None or kept is None:
            raise NoQuote
        return pdf_answer(bytes(kept.content), f"quote-{quote.number}")


class QuoteAcceptance(QuoteView):
    @operation(
        "Accept the quote", TAG, {201: shapes.Order}, id="accept_quote",
        body=shapes.AcceptanceAsked, takes=(REFERENCE, IDEMPOTENCY),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request, reference: str) -> Response:
        asked = fields_read(shapes.AcceptanceAsked, request)
        quote = self.quote_of(request_of(self.client, reference))
        if quote.revision != asked["revision"]:
            raise OfferClosed("A newer revision was made. Read it before you accept.")
        signature = Signature(
            asked["name"], asked["role"], asked["purchase_order"],
            request.META.get("REMOTE_ADDR") or None,
        )  # fmt: skip
        order = quote_accept(
            quote_id=quote.pk, terms_version=asked["terms_version"], signature=signature,
            now=self.now,
        )  # fmt: skip
        response = Response(order_document(order), status=201)
        response.headers["Location"] = reverse("api:order", args=[reference])
        return response


class QuoteAnswer(QuoteView):
    """What a customer may say instead of accepting."""

    def open_quote(self, reference: str, revision: int) -> Quote:
        """The revision that was read, if it still stands."""
        quote = self.quote_of(request_of(self.client, reference))
        if quote.revision != revision:
            raise OfferClosed("A newer revision was made. Read it first.")
        return quote

    def standing(self, quote: Quote) -> Response:
        fresh = Quote.objects.select_related("request").get(pk=quote.pk)
        document = {
            "revision": fresh.revision,
            "state": fresh.state,
            "request_status": fresh.request.status,
        }
        return Response(document, status=201)


class QuoteRefusal(QuoteAnswer):
    @operation(
        "Decline the quote", TAG, {201: shapes.QuoteStanding}, id="decline_quote",
        body=shapes.RefusalAsked, takes=(REFERENCE, IDEMPOTENCY),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request, reference: str) -> Response:
        asked = fields_read(shapes.RefusalAsked, request)
        quote = self.open_quote(reference, asked["revision"])
        quote_decline(quote_id=quote.pk, words=asked["words"], now=self.now)
        return self.standing(quote)


class QuoteChange(QuoteAnswer):
    @operation(
        "Ask for another quote; a rep reads what should change", TAG,
        {201: shapes.QuoteStanding}, id="ask_quote_change", body=shapes.ChangeAsked,
        takes=(REFERENCE, IDEMPOTENCY),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request, reference: str) -> Response:
        asked = fields_read(shapes.ChangeAsked, request)
        quote = self.open_quote(reference, asked["revision"])
        quote_change_ask(quote_id=quote.pk, words=asked["words"], now=self.now)
        return self.standing(quote)


class Revisions(QuoteView):
    @operation(
        "List the revisions of the quote", TAG, {200: shapes.RevisionPage},
        id="list_revisions", query=PageQuery, takes=(REFERENCE,),
    )  # fmt: skip
    def get(self, request: Request, reference: str) -> Response:
        rows = revisions_of(request_of(self.client, reference)).select_related("request")
        return Response(page_of(request, rows, revision_document))


class StatementPdf(QuoteView):
    """The final statement of a hire that is over."""

    renderer_classes = (Pdf,)

    @operation(
        "Read the final statement as a PDF", TAG, {(200, "application/pdf"): pdf_response()},
        id="read_statement", takes=(REFERENCE,),
    )  # fmt: skip
    def get(self, request: Request, reference: str) -> Response:
        found = request_of(self.client, reference)
        made = Statement.objects.select_related("order").filter(order__request=found).first()
        if made is None:
            raise NoQuote("There is no final statement of this request yet.")
        content = handover_pdf("statement", statement_facts(made), made_at=made.made_at)
        return pdf_answer(content, f"statement-{made.order.number}")


class OneOrder(QuoteView):
    @operation("Read the order", TAG, {200: shapes.Order}, id="read_order", takes=(REFERENCE,))
    def get(self, request: Request, reference: str) -> Response:
        found = request_of(self.client, reference)
        order = Order.objects.select_related("acceptance", "quote__request").filter(request=found)
        if not order:
            raise NoQuote("There is no order of this request.")
        return Response(order_document(order[0]))
