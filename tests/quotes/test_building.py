"""Building: one quote a message, whatever happens to the workers."""

from __future__ import annotations

from typing import Any

import pytest
from django.utils import translation
from pytest_django import DjangoAssertNumQueries

import demo_fixtures
from intake.models import Case, HireRequest, InboxMark, OutboxMessage, Status
from quotes.building import steps as build_steps
from quotes.building.services import TOPIC
from quotes.documents.facts import paper_facts
from quotes.models import BuildStep, Quote, QuoteState, Unit, UnitState
from tests.quotes.cast import deliver, quote_asked, quoted, request_in_pricing

pytestmark = pytest.mark.django_db
QUERIES = 47  # however many sets, rates and options there are; savepoints counted


class Killed(BaseException):
    """What a worker that dies in a step looks like from inside."""


def test_a_clear_request_ends_in_one_open_offer(company: None) -> None:
    request = request_in_pricing()
    assert deliver(quote_asked(request))
    request.refresh_from_db()
    quote = Quote.objects.get(request=request)
    assert (request.status, quote.state, quote.revision) == (Status.QUOTED, QuoteState.OFFERED, 1)
    assert quote.total == sum(line.amount for line in quote.lines.all()) + quote.tax
    assert OutboxMessage.objects.filter(topic="quotes.mail_offer").count() == 1


def test_a_second_delivery_changes_nothing(company: None) -> None:
    asked = quote_asked(request_in_pricing())
    assert deliver(asked)
    assert not deliver(asked)
    assert Quote.objects.count() == 1
    assert InboxMark.objects.filter(message_id=asked.id, handler=TOPIC).count() == 1


@pytest.mark.parametrize("dies_in", ["fleet", "price", "document"])
def test_a_build_goes_on_where_a_dead_worker_stopped(
    company: None, monkeypatch: pytest.MonkeyPatch, dies_in: str
) -> None:
    asked = quote_asked(request_in_pricing())
    step, begun = build_steps.STEPS[dies_in], []

    def deadly(quote: Quote, now: Any) -> Any:
        begun.append(dies_in)
        if len(begun) == 1:
            raise Killed
        return step(quote, now)

    monkeypatch.setitem(build_steps.STEPS, dies_in, deadly)
    with pytest.raises(Killed):
        deliver(asked)
    done = set(BuildStep.objects.exclude(finished_at=None).values_list("name", flat=True))
    assert done == {name for name in build_steps.STEPS if name not in (dies_in,)} - later(dies_in)
    assert deliver(asked)
    quote = Quote.objects.get()
    assert quote.state == QuoteState.OFFERED
    assert quote.lines.count() == len(set(quote.lines.values_list("position", flat=True)))


@pytest.mark.parametrize("overtaken_in", ["fleet", "price", "document"])
def test_a_worker_that_is_overtaken_leaves_what_the_other_made(
    company: None, monkeypatch: pytest.MonkeyPatch, overtaken_in: str
) -> None:
    asked = quote_asked(request_in_pricing())
    step, ended = build_steps.STEPS[overtaken_in], []

    def slow(quote: Quote, now: Any) -> Any:
        if not ended:
            ended.append("by the other")
            assert deliver(asked)
        return step(quote, now)

    monkeypatch.setitem(build_steps.STEPS, overtaken_in, slow)
    assert not deliver(asked)
    quote = Quote.objects.get()
    assert quote.state == QuoteState.OFFERED
    assert quote.lines.count() == len(set(quote.lines.values_list("position", flat=True)))


def test_a_build_costs_so_many_statements(
    company: None, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    asked = quote_asked(request_in_pricing())
    with django_assert_num_queries(QUERIES):
        assert deliver(asked)


@pytest.mark.parametrize("story", demo_fixtures.story_names())
@pytest.mark.parametrize("language", ["en", "es"])
def test_the_pdf_says_what_the_rows_say(
    company: None, monkeypatch: pytest.MonkeyPatch, story: str, language: str
) -> None:
    """The build writes its PDF from the rows in hand, pages write theirs from those read."""
    told: list[dict[str, Any]] = []

    def keep_facts(quote: Quote) -> dict[str, Any]:
        told.append(paper_facts(quote))
        return told[-1]

    monkeypatch.setattr("quotes.documents.services.paper_facts", keep_facts)
    request = request_in_pricing(story)
    HireRequest.objects.filter(pk=request.pk).update(language=language)
    deliver(quote_asked(request))
    quote = Quote.objects.get(request=request)
    if quote.state == QuoteState.REFERRED:
        assert told == []
        return
    with translation.override(language):
        assert told == [paper_facts(quote)]


def later(name: str) -> set[str]:
    names = list(build_steps.STEPS)
    return set(names[names.index(name) :])


def test_a_build_of_a_withdrawn_request_is_dropped(company: None) -> None:
    request = request_in_pricing()
    asked = quote_asked(request)
    HireRequest.objects.filter(pk=request.pk).update(status=Status.WITHDRAWN)
    assert deliver(asked)
    assert not Quote.objects.exists()


def test_a_larger_set_goes_out_at_the_asked_ones_price(company: None) -> None:
    first = quoted()
    (asked_code,) = {one["code"] for one in first.run.result["recommendation"]["sets"]}
    Unit.objects.filter(set_type__code=asked_code).update(state=UnitState.WORKSHOP)
    second = quoted()
    hire = second.lines.get(kind="hire")
    assert second.content["source"]["priced_as"] == {hire.code: asked_code}
    assert hire.amount == first.lines.get(kind="hire").amount


def test_nothing_free_goes_to_a_person_with_the_reason(company: None) -> None:
    Unit.objects.update(state=UnitState.WORKSHOP)
    request = request_in_pricing()
    deliver(quote_asked(request))
    request.refresh_from_db()
    case = Case.objects.get(request=request)
    assert request.status == Status.IN_REVIEW
    assert case.reason == "nothing_free"
    assert "not free" in case.findings.get(code="nothing_free").detail


def test_no_rate_is_never_a_price_of_zero(company: None) -> None:
    from quotes.models import Rate

    Rate.objects.all().delete()
    request = request_in_pricing()
    deliver(quote_asked(request))
    assert Case.objects.get(request=request).reason == "rate_missing"


def test_taxes_are_off_for_an_exempt_public_body(company: None) -> None:
    from intake.models import Organisation

    request = request_in_pricing()
    HireRequest.objects.filter(pk=request.pk).update(organisation=Organisation.objects.get())
    deliver(quote_asked(request))
    quote = Quote.objects.get()
    assert quote.tax == 0
    assert {tax.exempt for tax in quote.taxes.all()} == {"AF-2201"}
