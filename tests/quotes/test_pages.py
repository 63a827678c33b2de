"""The customer's pages of a quote."""

from __future__ import annotations

import io
from collections.abc import Callable

import pypdf
import pytest
import time_machine
from bs4 import BeautifulSoup
from django.test import Client
from django.urls import reverse

from intake.models import HireRequest, Status
from quotes.models import Order, Quote, QuoteState, Unit, UnitState
from tests.page_weight import MOST_BYTES, weight
from tests.quotes.cast import NOW, deliver_all, quoted, request_in_pricing

pytestmark = pytest.mark.django_db
Holder = Callable[[HireRequest], Client]
PAGES = ["offer", "progress", "accept", "decline", "change"]


@pytest.fixture(autouse=True)
def _frozen() -> object:
    with time_machine.travel(NOW, tick=False):
        yield


def url(name: str, request: HireRequest, *more: object) -> str:
    return reverse(f"quotes:{name}", args=[request.reference, *more])


def text(response: object) -> str:
    return BeautifulSoup(response.content, "html.parser").get_text(" ", strip=True)  # type: ignore[attr-defined]


def test_ten_seconds_suffice_for_set_total_dates_and_next_step(
    company: None, holder: Holder
) -> None:
    quote = quoted()
    page = BeautifulSoup(
        holder(quote.request).get(url("offer", quote.request)).content, "html.parser"
    )
    plate = page.select_one(".quote-plate")
    assert plate is not None
    assert "towable set at 480Y/277 V" in page.h1.get_text()  # type: ignore[union-attr]
    assert f"${quote.total:,.2f}" in plate.get_text()
    assert "Tue 1 Jun 2027" in plate.get_text()
    assert page.select_one("main .button").get_text() == "Accept this quote"  # type: ignore[union-attr]


def test_the_page_shows_progress_while_priced(company: None, holder: Holder) -> None:
    request = request_in_pricing()
    page = holder(request).get(url("offer", request))
    assert "Your quote is being made" in text(page)
    assert 'http-equiv="refresh"' in page.content.decode()
    part = holder(request).get(url("progress", request))
    assert "Pricing every line" in text(part)


def test_progress_sends_the_browser_on_when_done(company: None, holder: Holder) -> None:
    quote = quoted()
    answer = holder(quote.request).get(url("progress", quote.request))
    assert (answer.status_code, answer.headers["HX-Refresh"]) == (204, "true")


def test_the_document_says_what_the_page_says(company: None, holder: Holder) -> None:
    quote = quoted()
    client = holder(quote.request)
    answer = client.get(url("document", quote.request, 1))
    pdf = pypdf.PdfReader(io.BytesIO(answer.content))
    words = " ".join(page.extract_text() for page in pdf.pages)
    page = text(client.get(url("offer", quote.request)))
    for line in quote.lines.all():
        assert f"{line.amount:,.2f}" in words
        assert f"{line.amount:,.2f}" in page
    assert f"{quote.total:,.2f}" in words
    assert 1 <= len(pdf.pages) <= 3


def test_the_document_is_tagged_and_names_its_language(company: None) -> None:
    # ISO 14289-1 (PDF/UA-1): tagged, a title shown, a language. typst checks the rest.
    root = pypdf.PdfReader(io.BytesIO(bytes(quoted().document.content))).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"].value
    assert root["/Lang"] in ("en", "en-US")
    assert root["/ViewerPreferences"]["/DisplayDocTitle"].value


def test_accepting_needs_a_name_and_the_terms(company: None, holder: Holder) -> None:
    quote = quoted()
    answer = holder(quote.request).post(url("accept", quote.request), {"purchase_order": "PO 9"})
    page = text(answer)
    assert answer.status_code == 422
    assert "Enter your name." in page
    assert "PO 9" in answer.content.decode()
    assert not Order.objects.exists()


def test_accepting_makes_an_order_and_shows_it(company: None, holder: Holder) -> None:
    quote = quoted()
    client = holder(quote.request)
    said = {"name": "Ada Story", "terms": "on", "terms_version": quote.terms_version}
    answer = client.post(url("accept", quote.request), said, follow=True)
    assert "Ordered:" in text(answer)
    assert Order.objects.get().acceptance.name == "Ada Story"


def test_choosing_another_set_makes_a_second_revision(company: None, holder: Holder) -> None:
    quote = quoted()
    client = holder(quote.request)
    other = quote.content["options"][1]["index"]
    form = {"option": other, "refuelling": "owner", "cover": "waiver", "connection": "customer"}
    client.post(url("choose", quote.request), form)
    deliver_all()
    newest = Quote.objects.get(request=quote.request, revision=2)
    quote.refresh_from_db()
    assert (quote.state, newest.state) == (QuoteState.SUPERSEDED, QuoteState.OFFERED)
    assert newest.content["source"]["option"] == other
    assert newest.lines.filter(code="refuel_diesel").exists()
    old = client.get(url("revision", quote.request, 1))
    assert f"{quote.total:,.2f}" in text(old)


def test_declining_and_asking_for_change(company: None, holder: Holder) -> None:
    first, second = quoted(), quoted()
    holder(first.request).post(url("decline", first.request), {"words": ""})
    holder(second.request).post(url("change", second.request), {"words": "Quieter."})
    first.request.refresh_from_db()
    second.request.refresh_from_db()
    assert (first.request.status, second.request.status) == (Status.DECLINED, Status.IN_REVIEW)


@pytest.mark.parametrize("name", PAGES)
def test_a_stranger_sees_nothing(company: None, client: Client, name: str) -> None:
    quote = quoted()
    assert client.get(url(name, quote.request)).status_code == 404


def test_a_stranger_gets_no_document_and_changes_nothing(company: None, client: Client) -> None:
    quote = quoted()
    assert client.get(url("document", quote.request, 1)).status_code == 404
    assert client.get(url("revision", quote.request, 1)).status_code == 404
    for name in ("accept", "decline", "change", "choose", "renew"):
        assert client.post(url(name, quote.request), {"words": "x"}).status_code == 404
    quote.refresh_from_db()
    assert quote.state == QuoteState.OFFERED


def test_an_unknown_revision_is_not_there(company: None, holder: Holder) -> None:
    quote = quoted()
    assert holder(quote.request).get(url("revision", quote.request, 9)).status_code == 404


def test_a_set_just_taken_gets_an_answer_with_what_else_is_free(
    company: None, holder: Holder
) -> None:
    first, second = quoted(), quoted()
    code = first.lines.get(kind="hire").code
    last = Unit.objects.filter(set_type__code=code, branch=first.branch).order_by("pk")[0]
    Unit.objects.filter(set_type__code=code).exclude(pk=last.pk).update(state=UnitState.RETIRED)
    said = {"name": "Ada Story", "terms": "on", "terms_version": first.terms_version}
    holder(first.request).post(url("accept", first.request), said)
    answer = holder(second.request).post(url("accept", second.request), said)
    page = text(answer)
    assert answer.status_code == 409
    assert "Nothing was ordered" in page
    assert "on the same days" in page
    # 14 days from 1 June, a day in the yard: the same set is free again on 16 June.
    assert "from Wed 16 Jun 2027" in page


def test_the_page_speaks_spanish_when_asked(company: None, holder: Holder) -> None:
    quote = quoted()
    client = holder(quote.request)
    page = text(client.get(url("offer", quote.request), headers={"accept-language": "es"}))
    for words in ("Aceptar esta cotización", "Total, impuestos incluidos", "Carga máxima"):
        assert words in page
    for words in ("Accept this quote", "Peak load", "Price holds until"):
        assert words not in page


def test_the_pages_of_a_quote_are_light(company: None, holder: Holder) -> None:
    request = quoted().request
    for name in ("offer", "accept", "change", "decline"):
        response = holder(request).get(url(name, request))
        assert response.status_code == 200
        assert weight(response) <= MOST_BYTES, name
