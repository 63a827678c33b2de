"""The customer's page of a quote: progress while it is built, then the offer, then the order."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from intake.models import HireRequest, Status
from intake.views.access import holder_of_link
from quotes.documents.facts import moment
from quotes.documents.typeset import pdf_response
from quotes.models import Order, Quote, QuoteDocument, QuoteState
from quotes.offers.choices import choices_shown
from quotes.offers.selectors import offer_context, progress_of, quote_revision, quote_shown

POLL_S = 1


@require_safe
@holder_of_link
def offer(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """The quote as it stands: being priced, open, ordered or over."""
    if hire_request.status == Status.PRICING:
        return _progress(web, hire_request)
    quote = quote_shown(hire_request)
    if quote is None or hire_request.status in (Status.DRAFT, Status.IN_REVIEW):
        return redirect("intake:status", reference=hire_request.reference)
    if hire_request.status == Status.ORDERED:
        return _ordered(web, hire_request, quote)
    return _offer(web, hire_request, quote)


def _progress(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    context = {"hire_request": hire_request, "steps": progress_of(hire_request), "poll_s": POLL_S}
    return render(web, "quotes/offers/progress.html", context)


@require_safe
@holder_of_link
def progress(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """The part of the page that is asked for again and again; sends the browser on when done."""
    if hire_request.status != Status.PRICING:
        response = HttpResponse(status=204)
        response.headers["HX-Refresh"] = "true"
        return response
    context = {"hire_request": hire_request, "steps": progress_of(hire_request), "poll_s": POLL_S}
    return render(web, "quotes/offers/progress_steps.html", context)


def _offer(web: HttpRequest, hire_request: HireRequest, quote: Quote) -> HttpResponse:
    still_open = (
        quote.state == QuoteState.OFFERED
        and quote.valid_until is not None
        and quote.valid_until >= timezone.now()
    )
    context = {
        **offer_context(quote),
        "hire_request": hire_request,
        "still_open": still_open,
    }
    if still_open:
        context["choices"] = choices_shown(quote, context["facts"])
    return render(web, "quotes/offers/offer.html", context)


def _ordered(web: HttpRequest, hire_request: HireRequest, quote: Quote) -> HttpResponse:
    order = Order.objects.select_related("acceptance").get(request=hire_request)
    assert quote.branch is not None
    context = {
        **offer_context(quote),
        "hire_request": hire_request,
        "order": order,
        "accepted_at": moment(order.acceptance.accepted_at, quote.branch.timezone),
        "units": [row.unit for row in order.bookings.select_related("unit__set_type")],
    }
    return render(web, "quotes/offers/order.html", context)


@require_safe
@holder_of_link
def revision(web: HttpRequest, hire_request: HireRequest, number: int) -> HttpResponse:
    """An older revision, as it was offered."""
    quote = quote_revision(hire_request, number)
    if quote is None:
        raise Http404
    context = {**offer_context(quote), "hire_request": hire_request, "still_open": False}
    return render(web, "quotes/offers/revision.html", context)


@require_safe
@holder_of_link
def document(web: HttpRequest, hire_request: HireRequest, number: int) -> HttpResponse:
    """The PDF of one revision: the same bytes whenever it is asked for."""
    quote = quote_revision(hire_request, number)
    kept = QuoteDocument.objects.filter(quote=quote).first() if quote else None
    if quote is None or kept is None:
        raise Http404
    return pdf_response(bytes(kept.content), f"quote-{quote.number}")
