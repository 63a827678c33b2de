"""A quote walked in Spanish: pages, letters and document speak it, whatever English is stored."""

from __future__ import annotations

import html
import io
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils.translation import gettext, override
from pypdf import PdfReader

from intake.models import HireRequest
from quotes.documents.facts import quote_facts
from quotes.documents.pdf import offer_pdf
from quotes.documents.retold import PLACE, day_words, retold
from quotes.documents.sentences import SENTENCES
from quotes.mailing.letters import order_letter, quote_letter
from quotes.models import Order, Quote
from tests.quotes.cast import NOW, deliver, quote_asked, quoted, request_in_pricing

Holder = Callable[[HireRequest], Client]
SPANISH = {"accept-language": "es"}
ENGLISH_WORDS = (
    "the and with your you this that from for are is was will must have has not what when where"
    " which quote price set sets load peak hire delivery day days week weeks tank fuel receptacle"
    " lead leads breaker exhaust never before after until order accept open terms check checks"
    " electrician codes ground current voltage dip start starts"
)
ENGLISH = frozenset(ENGLISH_WORDS.split())
WORD = re.compile(r"[^\W\d_]+")
STORIES = ("dewatering", "emergency_shelter", "event_lighting", "jobsite_trailer")
LONG = {"start": "2027-07-03", "end": "2027-09-06"}
OWNER_DOES = {"refuelling": "owner", "connection": "owner", "cover": "certificate"}


@pytest.fixture(autouse=True)
def _frozen() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


def english_left(text: str, facts: dict[str, Any]) -> set[str]:
    """English words of the list in a text, the customer's own words and the owner's terms aside."""
    for own in own_words(facts):
        text = text.replace(own, " ")
    text = re.sub(r"<[^>]+>", " ", text)
    return {word for word in WORD.findall(text.lower()) if word in ENGLISH}


def own_words(facts: dict[str, Any]) -> list[str]:
    company = (facts["company"][key] for key in ("name", "branch", "address"))
    return [*facts["loads"], *filter(None, company), *facts["terms"].splitlines()]


def facts_of(quote: Quote) -> dict[str, Any]:
    loads = [one["name"] for one in quote.run.result["demand"]["loads"]]
    with override("es"):
        return {**quote_facts(quote), "loads": sorted(loads, key=len, reverse=True)}


def words_of(page: bytes) -> str:
    text = re.sub(r"(?s)<(script|style|head)\b.*?</\1>", " ", page.decode())
    named = " ".join(re.findall(r'(?:aria-label|alt|title)="([^"]*)"', text))
    return html.unescape(re.sub(r"<[^>]+>", " ", text) + " " + named)


def texts(facts: Any) -> Iterator[str]:
    if isinstance(facts, str):
        yield facts
    elif isinstance(facts, dict):
        for key, value in facts.items():
            yield from () if key in NOT_WORDS else texts(value)
    elif isinstance(facts, list):
        for value in facts:
            yield from texts(value)


NOT_WORDS = {
    "company", "customer", "site", "terms", "loads", "code", "kind", "line", "number", "reference",
    "terms_version",
}  # fmt: skip


@pytest.mark.parametrize(
    ("choices", "hire"), [(None, None), (OWNER_DOES, LONG)], ids=["as asked", "long, all by owner"]
)
@pytest.mark.parametrize("story", STORIES)
def test_every_word_of_a_quote_is_retold(
    company: None, story: str, choices: Any, hire: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("quotes.building.steps.document_content", lambda **_: b"-")
    request = request_in_pricing(story, hire=hire)
    deliver(quote_asked(request), choices=choices)
    facts = facts_of(Quote.objects.get(request=request))
    left = {text: english_left(text, facts) for text in texts(facts)}
    assert {text: words for text, words in left.items() if words} == {}


def test_a_quote_is_read_and_accepted_in_spanish(company: None, holder: Holder) -> None:
    quote = quoted("jobsite_trailer")
    client, facts = holder(quote.request), facts_of(quote)
    for name in ("offer", "accept", "change", "decline"):
        page = client.get(address(name, quote), headers=SPANISH)
        assert page.status_code == 200
        assert english_left(words_of(page.content), facts) == set()
    client.post(address("accept", quote), accepting(quote), headers=SPANISH)
    ordered = words_of(client.get(address("offer", quote), headers=SPANISH).content)
    assert "Pedido" in ordered
    assert english_left(ordered, facts) == set()


def address(name: str, quote: Quote) -> str:
    return reverse(f"quotes:{name}", args=[quote.request.reference])


def accepting(quote: Quote) -> dict[str, str]:
    return {"name": "Ada Story", "terms": "on", "terms_version": quote.terms_version}


def test_the_letters_and_the_document_follow_the_requests_language(
    company: None, holder: Holder
) -> None:
    quote = quoted("jobsite_trailer")
    HireRequest.objects.filter(pk=quote.request_id).update(language="es")
    quote = Quote.objects.get(pk=quote.pk)
    holder(quote.request).post(address("accept", quote), accepting(quote))
    letters = [quote_letter(quote, kind=kind, message_id="-") for kind in ("offer", "reminder")]
    letters.append(order_letter(Order.objects.get(quote=quote), message_id="-"))
    for letter in letters:
        assert letter is not None
        body = str(letter.body).split("http")[0]
        assert english_left(f"{letter.subject} {body}", facts_of(quote)) == set()


def test_the_document_is_made_in_spanish(company: None) -> None:
    facts = facts_of(quoted("jobsite_trailer"))
    with override("es"):
        made = PdfReader(
            io.BytesIO(offer_pdf(facts, link="https://hire.example/r/x/", made_at=NOW))
        )
    assert made.trailer["/Root"]["/Lang"] == "es-US"  # PDF/UA-1 asks for the language, ISO 14289-1
    text = "\n".join(page.extract_text() for page in made.pages)
    shown = text[: text.index("Condiciones (")].replace("\n", " ").replace("- ", "")
    assert "Cotización" in shown
    assert english_left(shown, facts) == set()


def test_every_sentence_has_a_spanish_one_with_the_same_places() -> None:
    alike = {"Total", "no", "{percent} % of {base}"}
    for sentence in SENTENCES:
        with override("es"):
            spanish = gettext(sentence)
        assert sorted(PLACE.findall(spanish)) == sorted(PLACE.findall(sentence))
        assert spanish != sentence or sentence in alike or sentence == "{name} (demo)"


def test_english_stays_word_for_word_and_names_stay_in_every_language() -> None:
    with override("en"):
        assert retold("14 days as 2 weeks, triple shift") == "14 days as 2 weeks, triple shift"
    with override("es"):
        assert retold("14 days as 2 weeks, triple shift") == "14 días como 2 semanas, triple turno"
        assert retold("Sump pump on the hill") == "Sump pump on the hill"
        assert retold("Delivery falls on 03 Jul 2027, Saturday.") == (
            "La entrega cae el 3 jul 2027, sábado."
        )


def test_days_are_written_by_the_languages_own_calendar() -> None:
    day = NOW.date()  # a Monday
    with override("en"):
        assert day_words(day) == "Mon 10 May 2027"
    with override("es"):
        assert day_words(day) == "lun 10 may 2027"
