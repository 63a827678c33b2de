"""Pages of the desk about quotes."""

from __future__ import annotations

from decimal import Decimal

from django import forms
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from intake.desk.access import desk_page
from intake.requests.errors import ServiceRefusal
from quotes.acceptance.views import problems_of
from quotes.desk.selectors import quote_of, quotes_page
from quotes.desk.services import quote_adjust
from quotes.documents.typeset import pdf_response
from quotes.models import Quote, QuoteDocument, QuoteState
from quotes.offers.selectors import offer_context


class AdjustForm(forms.Form):
    """A change of the price in dollars, with the reason the customer reads."""

    amount = forms.DecimalField(
        label="Change of the price, USD",
        help_text="Less than zero lowers it; zero takes an earlier change back.",
        max_digits=10,
        decimal_places=2,
        min_value=Decimal(-1_000_000),
        max_value=Decimal(1_000_000),
        error_messages={"required": "Enter an amount, like -50.00."},
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    reason = forms.CharField(
        label="Reason, as the customer reads it",
        max_length=200,
        error_messages={"required": "Give the reason."},
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


@require_safe
@desk_page("read_desk")
def quote_list(web: HttpRequest) -> HttpResponse:
    """All quotes, the newest first, a page at a time."""
    assert isinstance(web.user, User)
    asked = {name: web.GET.get(name, "") for name in ("state", "reference")}
    after = web.GET.get("after", "")
    page = quotes_page(
        user=web.user, after=int(after) if after.isdecimal() and len(after) < 18 else 0, **asked
    )
    context = {"page": page, "states": QuoteState.choices, **asked}
    return render(web, "quotes/desk/list.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@desk_page("read_desk")
def quote_page(web: HttpRequest, reference: str) -> HttpResponse:
    """The newest revision with every step of its price; a rep may change the price here."""
    assert isinstance(web.user, User)
    quote = quote_of(web.user, reference)
    form = AdjustForm(web.POST) if web.method == "POST" else AdjustForm()
    if form.is_bound and not web.user.has_perm("intake.work_case"):
        form.add_error(None, "Only a rep may change a price.")
    if form.is_bound and form.is_valid() and _adjusted(web.user, quote, form):
        return redirect("quotes:desk_quote", reference=reference)
    return _quote_page(web, quote, form)


def _adjusted(user: User, quote: Quote, form: AdjustForm) -> bool:
    try:
        quote_adjust(quote_id=quote.pk, actor=user, now=timezone.now(), **form.cleaned_data)
    except ServiceRefusal as refusal:
        form.add_error("amount", str(refusal))
        return False
    return True


def _quote_page(web: HttpRequest, quote: Quote, form: AdjustForm) -> HttpResponse:
    priced = bool(quote.content.get("options"))
    context = {
        **(offer_context(quote) if priced else {"quote": quote, "facts": None}),
        "form": form,
        "problems": problems_of(form) if form.is_bound else [],
        "may_adjust": web.user.has_perm("intake.work_case") and quote.state == QuoteState.OFFERED,
        "words": quote.words.all(),
    }
    return render(web, "quotes/desk/quote.html", context, status=422 if form.is_bound else 200)


@require_safe
@desk_page("read_desk")
def quote_document(web: HttpRequest, reference: str, number: int) -> HttpResponse:
    """The PDF of one revision, for staff."""
    assert isinstance(web.user, User)
    quote = quote_of(web.user, reference, number)
    kept = QuoteDocument.objects.filter(quote=quote).first()
    if kept is None:
        return HttpResponse(status=404)
    return pdf_response(bytes(kept.content), f"quote-{quote.number}")
