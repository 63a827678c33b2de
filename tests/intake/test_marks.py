"""Words stand where their marks stood, and words that look like marks or markup stay words."""

from __future__ import annotations

import pytest
from django.urls import reverse

from intake.marks import MARK, filled, mark
from intake.models import RequestLoad
from intake.steps.catalogue import QUESTIONS
from tests.intake.visitor import LAMPS, PUMP, Visitor, soup

ODD = f'A <b>"pump"</b> & {mark("plate")}{MARK}'


def test_words_take_the_places_of_their_marks() -> None:
    drawn = f"<p>{mark('name')}: {mark('plate')}</p><i>{mark('name')}</i>"
    words = {"name": ODD, "plate": "15 hp", "unused": "x"}
    name = ODD.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    name = name.replace('"', "&quot;")
    assert filled(drawn, words) == f"<p>{name}: 15 hp</p><i>{name}</i>"
    assert filled("<p></p>", {}) == "<p></p>"


def test_a_mark_without_words_is_a_defect() -> None:
    with pytest.raises(KeyError):
        filled(mark("name"), {})


def test_no_question_has_the_name_of_another_mark() -> None:
    assert not {"place", "address", "name", "plate", "quantity"} & QUESTIONS.keys()


def test_the_list_of_equipment_names_each_row_and_its_buttons(
    demo_fleet: None, customer: Visitor
) -> None:
    customer.post(customer.load_page(), PUMP)
    customer.client.post(customer.at("equipment/add/"), {"kind": "lamp"})
    customer.post(customer.load_page(), {**LAMPS, "name": ODD})
    customer.client.post(customer.at("equipment/add/"), {"kind": "welder"})
    loads = list(RequestLoad.objects.order_by("position"))
    rows = customer.get("equipment/").select("ol.equipment > li")
    assert [row["id"] for row in rows] == [f"load-{load.pk}" for load in loads]
    names = [f"{load.quantity} × {load.name}" for load in loads]
    assert [row.select_one("h2").get_text() for row in rows] == names
    assert [row.select_one(".plate-words").get_text() for row in rows] == [
        PUMP["nameplate"], LAMPS["nameplate"], "Not filled in yet",
    ]  # fmt: skip
    acts = [["remove", "copy", "down"], ["remove", "copy", "up", "down"], ["remove", "copy", "up"]]
    for row, load, offered in zip(rows, loads, acts, strict=True):
        addresses = [
            reverse("intake:load_act", args=[customer.reference, load.pk, act]) for act in offered
        ]
        assert [form["action"] for form in row.select("form")] == addresses
        page = reverse("intake:load", args=[customer.reference, load.pk])
        assert row.select_one("a.button-quiet")["href"] == page
    badges = [[b.get_text() for b in row.select(".badge")] for row in rows]
    assert badges == [[], [], ["not filled in"]]


def test_the_picture_says_which_row_is_open(demo_fleet: None, customer: Visitor) -> None:
    customer.post(customer.load_page(), {**PUMP, "nameplate": "", "nameplate__unsure": "1"})
    for _ in range(2):
        customer.client.post(customer.at("equipment/add/"), {"kind": "lamp"})
        customer.post(customer.load_page(), LAMPS)
    RequestLoad.objects.filter(name=PUMP["name"]).update(name=ODD)
    beside = customer.client.get(customer.at("picture/"))
    assert f"the plate of {ODD}" in soup(beside).get_text()
    assert str(soup(beside).figure) == str(customer.get("equipment/").figure)


def test_every_form_of_the_list_carries_a_token_that_is_taken(customer: Visitor) -> None:
    customer.client.handler.enforce_csrf_checks = True
    page = customer.get("equipment/")
    tokens = {field["value"] for field in page.select("main [name=csrfmiddlewaretoken]")}
    assert len(tokens) == 1
    sent = {"kind": "pump", "csrfmiddlewaretoken": tokens.pop()}
    assert customer.client.post(customer.at("equipment/add/"), {"kind": "pump"}).status_code == 403
    assert customer.client.post(customer.at("equipment/add/"), sent).status_code == 302
