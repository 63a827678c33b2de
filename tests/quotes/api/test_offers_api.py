"""The quote of a client's request: read, the same in the document, accepted once."""

from __future__ import annotations

import io
import json
from decimal import Decimal
from typing import Any

import pytest
from pypdf import PdfReader

from quotes.models import Acceptance, Booking, Order, Quote
from quotes.pricing.money import dollars
from tests.config.api.caller import Caller, document, problem
from tests.intake.desk.cast import person
from tests.quotes.cast import NOW, deliver_all

SIGNED = {"name": "Ann Field", "role": "Site manager", "purchase_order": "PO-7"}


@pytest.fixture
def quote(caller: Caller, sent: str) -> Any:
    """The quote as read, once a worker has built it."""
    deliver_all()
    return document(caller.get(f"requests/{sent}/quote"))


def test_while_it_is_priced_there_is_no_quote_to_read(caller: Caller, sent: str) -> None:
    problem(caller.get(f"requests/{sent}/quote"), 404, "no_quote")
    accepting = {**SIGNED, "revision": 1, "terms_version": "1"}
    problem(caller.make(f"requests/{sent}/quote/acceptance", accepting), 404, "no_quote")


def test_the_lines_make_the_total(quote: Any) -> None:
    lines = sum(Decimal(line["amount"]["value"]) for line in quote["lines"])
    taxes = sum(Decimal(tax["amount"]["value"]) for tax in quote["taxes"])
    assert lines == Decimal(quote["net"]["value"])
    assert lines + taxes == Decimal(quote["total"]["value"])
    assert quote["total"]["unit"] == "USD"


def test_the_document_says_the_same_total(caller: Caller, quote: Any) -> None:
    response = caller.get(quote["document"].removeprefix("/api/v1/"))
    assert response["Content-Type"] == "application/pdf"
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(response.content)).pages)
    assert dollars(Decimal(quote["total"]["value"])) in text


def test_a_document_of_a_revision_never_made_is_not_found(caller: Caller, sent: str) -> None:
    problem(caller.get(f"requests/{sent}/quotes/9/document.pdf"), 404, "no_quote")


def accept(caller: Caller, sent: str, quote: Any, **changes: Any) -> Any:
    once = changes.pop("once", "")
    body = {**SIGNED, "revision": quote["revision"], "terms_version": quote["terms_version"]}
    return caller.make(f"requests/{sent}/quote/acceptance", {**body, **changes}, once=once)


def test_accepting_makes_an_order_with_its_units(caller: Caller, sent: str, quote: Any) -> None:
    order = document(accept(caller, sent, quote), 201)
    assert order["total"] == quote["total"]
    assert order["accepted_by"] == "Ann Field"
    assert [booking["set_code"] for booking in order["bookings"]] == ["T60"]
    assert document(caller.get(f"requests/{sent}/order")) == order
    assert document(caller.get(f"requests/{sent}"))["status"] == "ordered"


def text_of(response: Any) -> str:
    assert response["Content-Type"] == "application/pdf", response.content
    return "".join(page.extract_text() for page in PdfReader(io.BytesIO(response.content)).pages)


def test_the_units_papers_are_read_by_who_ordered_and_by_the_desk(
    caller: Caller, sent: str, quote: Any
) -> None:
    (booked,) = document(accept(caller, sent, quote), 201)["bookings"]
    desk = Caller(name="yard", scopes=("bookings",), acts_as=person("rae", "rep"))
    (seen,) = document(desk.get("bookings"))["items"]
    for reader, shown in ((caller, booked), (desk, seen)):
        sheet, card = (
            text_of(reader.get(shown[name].removeprefix("/api/v1/"))) for name in ("sheet", "card")
        )
        assert booked["unit"] in sheet
        assert booked["unit"] in card
        assert "Ann Field" in sheet
        assert "Ann Field" not in card


def test_papers_of_others_of_no_unit_and_of_what_was_cancelled_are_not_there(
    caller: Caller, sent: str, quote: Any
) -> None:
    (booked,) = document(accept(caller, sent, quote), 201)["bookings"]
    sheet = booked["sheet"].removeprefix("/api/v1/")
    problem(Caller(name="somebody").get(sheet), 404, "not_found")
    problem(caller.get(sheet.replace("sheet.pdf", "list.pdf")), 404, "no_paper")
    problem(caller.get(sheet.replace(booked["unit"], "NONE-1")), 404, "no_paper")
    desk = Caller(name="yard", scopes=("bookings",), acts_as=person("rae", "rep"))
    problem(caller.get("bookings/1/sheet.pdf"), 403, "permission_denied")
    Booking.objects.update(cancelled_at=NOW)
    problem(caller.get(sheet), 404, "no_paper")
    (seen,) = document(desk.get("bookings"))["items"]
    assert (seen["sheet"], seen["card"]) == (None, None)
    problem(desk.get(f"bookings/{seen['id']}/card.pdf"), 404, "no_paper")


def test_accepting_twice_with_one_key_orders_once(caller: Caller, sent: str, quote: Any) -> None:
    first, second = (accept(caller, sent, quote, once="accept-0001") for _ in range(2))
    assert json.loads(first.content) == json.loads(second.content)
    assert (Order.objects.count(), Acceptance.objects.count(), Booking.objects.count()) == (1, 1, 1)


def test_accepting_twice_with_two_keys_is_refused(caller: Caller, sent: str, quote: Any) -> None:
    document(accept(caller, sent, quote), 201)
    problem(accept(caller, sent, quote), 409, "offer_closed")
    assert Order.objects.count() == 1


@pytest.mark.parametrize(
    ("changes", "status", "code"),
    [
        ({"terms_version": "other"}, 409, "offer_closed"),
        ({"revision": 2}, 409, "offer_closed"),
        ({"revision": 10**30}, 422, "fields_refused"),
        ({"name": ""}, 422, "fields_refused"),
        ({"name": "x" * 121}, 422, "fields_refused"),
        ({"discount": 5}, 422, "fields_refused"),
    ],
)
def test_what_was_not_read_is_not_accepted(
    changes: Any, status: int, code: str, caller: Caller, sent: str, quote: Any
) -> None:
    problem(accept(caller, sent, quote, **changes), status, code)
    assert not Order.objects.exists()
    assert Quote.objects.get().state == "offered"


def test_the_catalogue_lists_sets_and_branches_but_no_rates(caller: Caller) -> None:
    sets = document(caller.get("catalogue/sets"))["items"]
    assert {"code", "name", "prime", "units"} == set(sets[0])
    assert "T60" in {one["code"] for one in sets}
    branches = document(caller.get("catalogue/branches"))["items"]
    assert {"RIDGE", "FRONT", "PLAINS"} == {one["code"] for one in branches}


def test_a_quote_is_declined_with_words(caller: Caller, sent: str, quote: Any) -> None:
    path, body = f"requests/{sent}/quote/refusal", {"revision": 1, "words": "Too dear."}
    done = document(caller.make(path, body, once="decline-1"), 201)
    assert done == {"revision": 1, "state": "declined", "request_status": "declined"}
    assert document(caller.make(path, body, once="decline-1"), 201) == done
    problem(accept(caller, sent, quote), 409, "offer_closed")


def test_another_quote_is_asked_for_of_a_rep(caller: Caller, sent: str, quote: Any) -> None:
    path = f"requests/{sent}/quote/change"
    problem(caller.make(path, {"revision": 2, "words": "Later."}), 409, "offer_closed")
    problem(caller.make(path, {"revision": 1, "words": ""}), 422, "fields_refused")
    done = document(caller.make(path, {"revision": 1, "words": "A week later."}), 201)
    assert done["request_status"] == "in_review"


def test_the_revisions_are_listed(caller: Caller, sent: str, quote: Any) -> None:
    (line,) = document(caller.get(f"requests/{sent}/quotes"))["items"]
    assert (line["revision"], line["total"]) == (1, quote["total"])
    assert line["document"] == quote["document"]


def test_before_the_hire_is_over_there_is_no_statement(caller: Caller, sent: str) -> None:
    problem(caller.get(f"requests/{sent}/order/statement.pdf"), 404, "no_quote")
