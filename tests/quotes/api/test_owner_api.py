"""Fleet, rates and bookings through the API, as a manager and as a rep."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from intake.models import Event
from quotes.acceptance.services import Signature, quote_accept
from quotes.models import Booking, Rate, RateCard, Unit
from tests.config.api.caller import Caller, document, problem
from tests.intake.desk.cast import person
from tests.quotes.cast import NOW, quoted


@pytest.fixture
def owner(company: None) -> Caller:
    return Caller(name="back office", scopes=("owner", "bookings"), acts_as=person("mo", "manager"))


@pytest.fixture
def rate(owner: Caller) -> Rate:
    return Rate.objects.filter(item_code="T60").select_related("card").first()  # type: ignore[return-value]


def price_path(rate: Rate) -> str:
    return f"rates/cards/{rate.card.code}/prices/{rate.item_code}"


def test_a_price_is_read_and_changed_by_who_saw_it(owner: Caller, rate: Rate) -> None:
    response = owner.get(price_path(rate))
    before = document(response)
    assert before["week"] == {"value": f"{rate.week:.2f}", "unit": "USD"}
    wanted = {"day": "300.00 USD", "week": "900", "four_weeks": "2700.50"}
    problem(owner.call("PUT", price_path(rate), wanted), 428, "precondition_required")
    changed = owner.call("PUT", price_path(rate), wanted, seen=response["ETag"])
    assert document(changed)["four_weeks"] == {"value": "2700.50", "unit": "USD"}
    problem(
        owner.call("PUT", price_path(rate), wanted, seen=response["ETag"]),
        412, "precondition_failed",
    )  # fmt: skip
    event = Event.objects.get(kind="owner_record_changed", actor__username="mo")
    assert "week" in event.data["changes"]
    assert "900" in event.data["changes"]


@pytest.mark.parametrize(
    "wanted",
    [
        {"day": "10", "week": "71", "four_weeks": "100"},  # a week dearer than seven days
        {"day": "-1", "week": "1", "four_weeks": "1"},
        {"day": "10 EUR", "week": "10", "four_weeks": "10"},
        {"day": "1e3", "week": "10", "four_weeks": "10"},
        {"day": "10.123", "week": "10", "four_weeks": "10"},
    ],
)
def test_a_price_that_cannot_be_is_refused(owner: Caller, rate: Rate, wanted: Any) -> None:
    problem(owner.call("PUT", price_path(rate), wanted, seen="*"), 422, "fields_refused")
    rate_now = Rate.objects.get(pk=rate.pk)
    assert rate_now.week == rate.week


def test_a_price_is_added_once(owner: Caller, rate: Rate) -> None:
    path = f"rates/cards/{rate.card.code}/prices"
    wanted = {"item_code": "NEW-1", "day": "10", "week": "50", "four_weeks": "150"}
    made = owner.make(path, wanted, once="price-new-1")
    assert document(made, 201)["item_code"] == "NEW-1"
    assert document(owner.get(made["Location"].removeprefix("/api/v1/"))) == document(made, 201)
    assert owner.make(path, wanted, once="price-new-1")["Idempotent-Replayed"] == "true"
    problem(owner.make(path, wanted), 422, "fields_refused")


def test_a_share_is_not_given_in_dollars(owner: Caller, rate: Rate) -> None:
    path = f"rates/cards/{rate.card.code}/fees/damage_waiver"
    seen = owner.get(path)
    assert document(seen)["amount"]["unit"] == "%"
    found = problem(owner.call("PUT", path, {"amount": "9 USD"}, seen="*"), 422, "fields_refused")
    assert found["errors"][0]["code"] == "wrong_unit"
    done = document(owner.call("PUT", path, {"amount": "9 %"}, seen=seen["ETag"]))
    assert done["amount"] == {"value": "9.00", "unit": "%"}


def test_a_card_is_copied_not_in_use(owner: Caller, rate: Rate) -> None:
    path = f"rates/cards/{rate.card.code}/copies"
    copy = document(owner.make(path, {"valid_from": "2028-01-01"}), 201)
    assert (copy["in_use"], copy["valid_from"]) == (False, "2028-01-01")
    made = RateCard.objects.get(code=copy["code"])
    assert made.rates.count() == rate.card.rates.count()


def test_two_cards_in_use_for_one_branch_are_refused(owner: Caller, rate: Rate) -> None:
    copy = document(
        owner.make(f"rates/cards/{rate.card.code}/copies", {"valid_from": "2027-06-01"}), 201
    )
    path = f"rates/cards/{copy['code']}"
    problem(owner.call("PATCH", path, {"in_use": True}, seen="*"), 422, "fields_refused")


def test_a_unit_goes_to_the_workshop(owner: Caller) -> None:
    unit = Unit.objects.select_related("branch").first()
    assert unit is not None
    path = f"fleet/units/{unit.number}"
    changes = {"state": "workshop", "engine_hours": "1200 h"}
    done = document(owner.call("PATCH", path, changes, seen=owner.get(path)["ETag"]))
    assert (done["state"], done["engine_hours"]) == ("workshop", {"value": 1200, "unit": "h"})
    problem(owner.call("PATCH", path, {"branch": "NOWHERE"}, seen="*"), 422, "fields_refused")


def test_a_sets_record_is_read_by_the_method_before_it_is_kept(owner: Caller) -> None:
    path = "fleet/sets/T60"
    seen = owner.get(path)
    record = {**document(seen)["record"], "prime_kw": "-4"}
    problem(owner.call("PATCH", path, {"record": record}, seen=seen["ETag"]), 422, "fields_refused")
    assert (
        document(owner.call("PATCH", path, {"offered": False}, seen=seen["ETag"]))["offered"]
        is False
    )


@pytest.mark.parametrize("role", ["rep", "senior_rep", "viewer"])
def test_nobody_but_a_manager_sees_rates(company: None, role: str) -> None:
    tool = Caller(name="tool", scopes=("owner",), acts_as=person("x", role))
    for path in ("rates/cards", "fleet/units", "fleet/sets"):
        problem(tool.get(path), 403, "permission_denied")


def test_without_the_scope_nothing_of_the_owners_is_read(owner: Caller, rate: Rate) -> None:
    plain = Caller(name="site office")
    for path in ("rates/cards", price_path(rate), "fleet/units", "bookings"):
        problem(plain.get(path), 403, "permission_denied")


def test_lists_are_pages_that_meet_end_to_end(owner: Caller) -> None:
    seen, path = [], "fleet/units?limit=7"
    while path:
        page = document(owner.get(path))
        seen += [one["number"] for one in page["items"]]
        path = f"fleet/units?limit=7&cursor={page['next_cursor']}" if page["next_cursor"] else ""
    assert len(seen) == len(set(seen)) == Unit.objects.count()


@pytest.fixture
def booking(company: None) -> Booking:
    quote = quoted()
    signed = Signature("Ann Field")
    quote_accept(quote_id=quote.pk, terms_version=quote.terms_version, signature=signed, now=NOW)
    return Booking.objects.select_related("unit__branch", "order").get()


def test_a_rep_reads_the_bookings_of_the_own_branches(booking: Booking) -> None:
    here = booking.unit.branch.code
    there = "PLAINS" if here != "PLAINS" else "RIDGE"
    near = Caller(name="near", scopes=("bookings",), acts_as=person("ned", "rep", here))
    far = Caller(name="far", scopes=("bookings",), acts_as=person("fay", "rep", there))
    (shown,) = document(near.get("bookings"))["items"]
    assert shown["unit"] == booking.unit.number
    assert shown["order"] == booking.order.number  # type: ignore[union-attr]
    assert document(near.get(f"bookings/{booking.pk}")) == shown
    assert document(far.get("bookings"))["items"] == []
    problem(far.get(f"bookings/{booking.pk}"), 404, "not_found")


@pytest.mark.parametrize(
    ("query", "count"),
    [
        ("on=2027-06-01", 1), ("on=2027-01-01", 0), ("cancelled=true", 0), ("cancelled=false", 1),
        ("unit=NOBODY", 0), ("branch=NOWHERE", 0),
    ],
)  # fmt: skip
def test_bookings_are_filtered(owner: Caller, booking: Booking, query: str, count: int) -> None:
    assert booking.starts_on <= date(2027, 6, 1) < booking.free_on
    assert len(document(owner.get(f"bookings?{query}"))["items"]) == count


@pytest.mark.parametrize("query", ["on=yesterday", "cancelled=maybe", "branch=%00", "limit=0"])
def test_a_filter_that_cannot_be_read_is_refused(owner: Caller, query: str) -> None:
    problem(owner.get(f"bookings?{query}"), 422, "fields_refused")
