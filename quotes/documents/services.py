"""Making and keeping the document of a quote."""

from __future__ import annotations

import hashlib
from datetime import datetime

from django.utils import translation

from intake.prepared_rows import PreparedInsert
from quotes.documents.facts import paper_facts
from quotes.documents.links import own_link
from quotes.documents.pdf import offer_pdf
from quotes.models import Quote, QuoteDocument

KEPT = PreparedInsert(QuoteDocument, "quote_id", "content", "sha256", "made_at")


def document_content(*, quote: Quote, now: datetime) -> bytes:
    """The PDF in the customer's language; made outside any transaction, for it takes its time."""
    with translation.override(quote.request.language):
        return offer_pdf(paper_facts(quote), link=own_link(quote.request), made_at=now)


def document_keep(*, quote: Quote, content: bytes, now: datetime) -> None:
    """Keep the PDF: once, in the transaction of the step's tick."""
    digest = hashlib.sha256(content).hexdigest()
    KEPT.rows([(quote.pk, content, digest, now)])
