"""What a page asks for in parts, or draws once, is what the whole says."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.utils.translation import override

from quotes.acceptance.forms import ServicesForm
from quotes.building.options import options_of
from quotes.documents.facts import page_facts
from quotes.documents.rows import run_shown
from quotes.models import Quote
from quotes.offers.choices import choices_shown
from quotes.templatetags.quote_rows import (
    check_rows,
    line_rows,
    list_items,
    option_rows,
    step_rows,
)
from tests.quotes.cast import NOW, quoted

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _frozen() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


def test_parts_of_a_run_are_those_of_the_whole(company: None) -> None:
    made = quoted()
    assert len(options_of(made.run.result)) > 1
    for option in range(len(options_of(made.run.result))):
        whole = Quote.objects.select_related("run").get(pk=made.pk)
        parts = Quote.objects.get(pk=made.pk)
        for quote in (whole, parts):
            quote.content["source"]["option"] = option
        assert run_shown(parts) == run_shown(whole)
        assert not Quote.run.is_cached(parts)


def test_rows_asked_for_say_what_the_models_say(company: None) -> None:
    asked = Quote.objects.get(pk=quoted().pk)
    rows = ("lines", "taxes", "steps")
    read = Quote.objects.select_related("run").prefetch_related(*rows).get(pk=asked.pk)
    for language in ("en", "es"):
        with override(language):
            assert page_facts(asked) == page_facts(read)


@pytest.mark.parametrize("language", ["en", "es"])
def test_services_are_those_that_were_chosen(company: None, language: str) -> None:
    quote = quoted()
    with override(language):
        for refuelling in ("customer", "owner", "customer"):
            quote.choices = {**quote.choices, "refuelling": refuelling, "cover": "certificate"}
            shown = choices_shown(quote, page_facts(quote))["services"]
            form = ServicesForm(
                initial={
                    "refuelling": refuelling,
                    "cover": "certificate",
                    "connection": "customer",
                }
            )
            for field in form:
                assert str(field.label) in shown
                assert all(choice.tag() in shown for choice in field)


def test_figures_of_a_set_are_rounded_and_said_as_far_as_known(company: None) -> None:
    quote = quoted()
    one = {"load_percent": 62.5, "voltage_dip_percent": None, "sound_dba": 63.4}
    with override("en"):
        (shown,) = choices_shown(quote, {"options": [one]})["options"]
    assert shown["figures"] == "Peak load 63 % · 63 dBA at the listener"


TYPED = "<b>Pump & 'motor'</b>"
HELD = "&lt;b&gt;Pump &amp; &#x27;motor&#x27;&lt;/b&gt;"


def test_words_in_the_rows_of_a_table_are_no_markup() -> None:
    names = (
        "label", "why", "quantity", "unit_price", "amount", "figures", "required", "provided",
        "working", "reason", "index", "named", "total",
    )  # fmt: skip
    row = {**dict.fromkeys(names, TYPED), "passed": True, "chosen": True}
    for rows in (line_rows, check_rows, step_rows, option_rows):
        drawn = rows([row, row])
        assert "<b>" not in drawn
        assert drawn.count(HELD) >= 8
        assert BeautifulSoup(drawn, "html.parser").get_text().count(TYPED) >= 6
    assert list_items([TYPED, "plain"]) == f"<li>{HELD}</li><li>plain</li>"


@pytest.mark.parametrize(
    ("passed", "binding", "verdict"),
    [
        (True, True, "passed"),
        (True, False, "passed"),
        (False, True, "<strong>not passed</strong>"),
        (False, False, "<strong>see below</strong>"),
    ],
)
def test_a_check_says_how_it_went(passed: bool, binding: bool, verdict: str) -> None:
    row = dict.fromkeys(("label", "figures", "required", "provided"), "-")
    with override("en"):
        drawn = check_rows([{**row, "passed": passed, "binding": binding}])
    assert drawn.endswith(f"<td>{verdict}</td></tr>")


def test_the_set_of_the_quote_is_the_chosen_one() -> None:
    row = dict.fromkeys(("named", "why", "figures", "total"), "-")
    drawn = option_rows([{**row, "index": n, "chosen": n == 1} for n in range(3)])
    inputs = BeautifulSoup(drawn, "html.parser").select("input[name=option]")
    assert [(one["value"], one.has_attr("checked")) for one in inputs] == [
        ("0", False),
        ("1", True),
        ("2", False),
    ]
