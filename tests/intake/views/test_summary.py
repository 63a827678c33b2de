"""What was asked for is drawn once with marks; the words stand in their places, and only there."""

from __future__ import annotations

import pytest
from django.utils.translation import override

from intake.marks import mark
from intake.models import RequestLoad
from intake.questions.answers import Given
from intake.questions.question import Kind, Question
from intake.questions.said import all_said, said
from intake.steps.catalogue import QUESTIONS
from tests.intake.visitor import PUMP, STEPS, Visitor

ODD = f'A <b>"pump"</b> & {mark("plate")}{mark("zip")}'


def odd_visitor() -> Visitor:
    """Names and notes hold markup and the very marks."""
    visitor = Visitor()
    contact = STEPS["contact"] | {"note": ODD, "company": mark("email")}
    visitor.fill(contact=contact, voltage={"supply": "unsure"})
    RequestLoad.objects.filter(name=PUMP["name"]).update(name=ODD)
    return visitor


def test_words_that_look_like_marks_or_markup_stay_words(demo_fleet: None, db: None) -> None:
    visitor = odd_visitor()
    shown = visitor.get("check/")
    equipment = shown.select("#step-equipment dl")
    assert len(equipment) == 2
    assert equipment[0].select_one("dt").get_text() == f"1 × {ODD}"
    assert equipment[0].select_one("dd").get_text() == PUMP["nameplate"]
    assert equipment[0].select_one("a.change").get_text() == f"Change {ODD}"
    contact = {
        row.select_one("dt").get_text(): row.select_one("dd").get_text()
        for row in shown.select("#step-contact dl > div")
    }
    assert contact["Anything else we should know?"] == ODD
    assert contact["Company or agency"] == mark("email")


def test_each_answer_has_its_way_to_change_it_only_before_it_is_sent(
    demo_fleet: None, db: None
) -> None:
    visitor = odd_visitor()
    shown = visitor.get("check/")
    changes = [a["href"] for a in shown.select("#step-site a.change")]
    assert changes[0] == visitor.at("site/?return=check#q-zip")
    load = RequestLoad.objects.get(name=ODD)
    first = shown.select_one("#step-equipment dl a.change")
    assert first["href"] == visitor.at(f"equipment/{load.pk}/?return=check")
    before = [dt.get_text() for dt in shown.select("dl.facts dt")]
    visitor.send()
    sent = visitor.get("")
    assert not sent.select("a.change")
    assert [dt.get_text() for dt in sent.select("dl.facts dt")] == before


def test_another_customer_sees_none_of_it(demo_fleet: None, db: None) -> None:
    odd_visitor()
    other = Visitor()
    other.fill()
    assert "&lt;b&gt;" not in str(other.get("check/"))


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("question", QUESTIONS.values(), ids=QUESTIONS)
def test_an_answer_is_said_in_the_readers_language(question: Question, language: str) -> None:
    with override(language):
        for _ in range(2):
            for choice in question.choices:
                assert said(question, Given(choice.value)) == str(choice.label)
            if question.kind is Kind.QUANTITY and question.measure:
                assert said(question, Given("12")) == f"12 {question.measure.shown}"
                assert said(question, Given("12 yards")) == "12 yards"
        given = [Given(unsure=True), Given(), Given("x"), Given(["x", "y"]), Given("2027-06-01")]
        one_by_one = [said(question, answer) for answer in given]
        assert all_said((question, answer) for answer in given) == one_by_one


def test_a_day_is_said_in_the_readers_language() -> None:
    with override("en"):
        assert said(QUESTIONS["hire_start"], Given("2027-06-01")) == "Tuesday, June 1, 2027"
    with override("es"):
        assert said(QUESTIONS["hire_start"], Given("2027-06-01")) == "martes, 1 de junio de 2027"
