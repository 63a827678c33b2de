"""The customer's pages, as a browser without a screen meets them."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from intake.models import HireRequest, RequestLoad
from intake.requests import places
from intake.requests.links import link_token
from tests.intake.visitor import LAMPS, PUMP, STEPS, Visitor, Yard, errors, soup, summary


def test_the_first_page_asks_one_question_and_preselects_nothing(db: None) -> None:
    page = soup(Client().get("/"))
    assert len(page.select("input[type=radio]")) == 5
    assert not page.select("[checked]")


def test_an_empty_first_page_says_what_to_do(db: None) -> None:
    response = Client().post("/", {})
    assert response.status_code == 422
    assert summary(response) == ["Choose what the generator set will power."]
    assert HireRequest.objects.count() == 0


def test_the_key_is_sent_to_the_requests_own_pages_only(customer: Visitor) -> None:
    cookie = customer.client.cookies["request_key"]
    assert cookie["path"] == customer.at()
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"


def test_every_problem_stands_at_its_field_and_in_the_summary(customer: Visitor) -> None:
    junk = {"zip": "00000", "altitude": "9600 lb", "ambient": "-900", "delivery": "by air"}
    customer.fill_equipment()
    response = customer.post("site/", junk)
    assert response.status_code == 422
    assert set(errors(response)) == set(junk)
    assert summary(response) == list(errors(response).values())
    assert soup(response).title.get_text().startswith("Error: ")


def test_nothing_typed_is_lost_on_an_error(customer: Visitor) -> None:
    typed = {"zip": "00000", "altitude": "9600 lb", "ambient": "-900", "directions": "Gate <2> 🚜"}
    response = customer.post("site/", typed)
    page = soup(response)
    assert page.select_one("#q-zip")["value"] == "00000"
    assert page.select_one("#q-altitude")["value"] == "9600 lb"
    assert page.select_one("#q-directions").get_text().strip() == "Gate <2> 🚜"


@pytest.mark.parametrize(
    ("start", "end", "field", "words"),
    [
        ("2020-01-01", "2027-01-01", "hire_start", "The first day is in the past"),
        ("2027-06-14", "2027-06-01", "hire_end", "before the first day"),
        ("2099-06-14", "2099-06-15", "hire_start", "more than two years away"),
        ("2027-06-14", "2035-06-15", "hire_end", "more than three years"),
    ],
)
def test_days_must_make_sense(customer: Visitor, start, end, field, words) -> None:
    response = customer.post("dates/", {**STEPS["dates"], "hire_start": start, "hire_end": end})
    assert words in errors(response)[field]
    assert soup(response).select_one("#q-hire_end")["value"] == end


def test_without_equipment_the_list_says_what_to_do(customer: Visitor) -> None:
    load = RequestLoad.objects.get(request__reference=customer.reference)
    customer.client.post(customer.at(f"equipment/{load.pk}/remove/"))
    response = customer.post("equipment/")
    assert summary(response) == ["Add at least one piece of equipment."]


def test_an_empty_row_is_named_in_the_list(customer: Visitor) -> None:
    response = customer.post("equipment/")
    assert summary(response) == ["Pump is not filled in yet. Open it, or remove it."]


def test_copies_have_names_of_their_own_and_a_limit(customer: Visitor) -> None:
    customer.post(customer.load_page(), PUMP)
    load = RequestLoad.objects.get(request__reference=customer.reference)
    customer.client.post(customer.at(f"equipment/{load.pk}/copy/"), {"copies": "3"})
    names = RequestLoad.objects.values_list("name", flat=True)
    assert list(names) == ["Sump pump", "Sump pump 2", "Sump pump 3", "Sump pump 4"]
    response = customer.client.post(customer.at(f"equipment/{load.pk}/copy/"), {"copies": "5000"})
    assert summary(response) == ["Enter how many copies, from 1 to 50."]


def test_more_than_a_thousand_rows_are_refused_in_words(customer: Visitor) -> None:
    request = HireRequest.objects.get(reference=customer.reference)
    RequestLoad.objects.bulk_create(
        RequestLoad(
            request=request, position=1, name=f"L{n}", kind="lamp", updated_at=timezone.now()
        )
        for n in range(999)
    )
    response = customer.client.post(customer.at("equipment/add/"), {"kind": "lamp"})
    assert "up to 1,000 rows" in summary(response)[0]


def test_a_row_moves_up(customer: Visitor) -> None:
    customer.fill_equipment()
    lamp = RequestLoad.objects.get(name="Flood light")
    customer.client.post(customer.at(f"equipment/{lamp.pk}/up/"))
    request = HireRequest.objects.get(reference=customer.reference)
    assert [load.name for load in request.loads.all()] == ["Flood light", "Sump pump"]


def test_questions_follow_the_application(customer: Visitor) -> None:
    assert customer.client.get(customer.at("water/")).status_code == 200
    assert customer.client.get(customer.at("show/")).status_code == 302
    customer.post("job/", {"application": "event_lighting"})
    assert customer.client.get(customer.at("water/")).status_code == 302
    assert customer.client.get(customer.at("show/")).status_code == 200


def test_transfer_equipment_is_not_asked_of_what_feeds_no_building(customer: Visitor) -> None:
    customer.post("job/", {"application": "emergency"})
    assert customer.post("hookup/", {"feeds_building": "no"}).status_code == 302
    response = customer.post("hookup/", {"feeds_building": "yes"})
    assert list(errors(response)) == ["transfer_equipment"]


def test_a_change_returns_to_the_check_page_in_one_step(demo_fleet: None, db: None) -> None:
    customer = Visitor()
    customer.fill()
    response = customer.post("voltage/?return=check", {"supply": "unsure"})
    assert response["Location"] == customer.at("check/")


def test_a_change_that_opens_a_question_asks_it_first(demo_fleet: None, db: None) -> None:
    customer = Visitor()
    customer.fill()
    response = customer.post("site/?return=check", {**STEPS["site"], "delivery": "tow"})
    assert response["Location"] == customer.at("towing/?return=check")


def test_equipment_added_from_the_check_page_leads_back_there(demo_fleet: None, db: None) -> None:
    customer = Visitor()
    customer.fill()
    customer.client.post(customer.at("equipment/add/"), {"kind": "lamp"})
    customer.post(customer.load_page(), {**LAMPS, "name": "More lights"})
    assert customer.post("equipment/")["Location"] == customer.at("check/")


def test_the_check_page_shows_all_and_only_what_applies(demo_fleet: None, db: None) -> None:
    customer = Visitor()
    customer.fill()
    words = customer.get("check/").get_text(" ", strip=True)
    assert "How much water comes in? 200 gpm" in words
    assert "How high must the water be lifted? Not provided" in words
    assert "dimmers" not in words


def test_what_is_assumed_stands_apart_from_what_was_answered(demo_fleet: None, db: None) -> None:
    customer = Visitor()
    answers = {
        "zip": "80424",
        "altitude__unsure": "1",
        "ambient__unsure": "1",
        "delivery": "deliver",
    }
    customer.fill(site=answers)
    notice = customer.get("check/").select_one("#assumptions")
    assert "The site lies" in notice.get_text()
    assert "ft high" in notice.get_text()


def test_the_link_opens_the_same_step_on_another_device(customer: Visitor) -> None:
    customer.fill_equipment()
    customer.post("water/", STEPS["water"])
    token = link_token(customer.reference, 1)
    other = Client()
    response = other.get(f"/r/{token}/")
    assert response["Location"] == customer.at("voltage/")
    assert other.get(response["Location"]).status_code == 200


def test_an_expired_link_says_what_to_do(customer: Visitor) -> None:
    HireRequest.objects.update(link_expires_at=timezone.now() - timedelta(seconds=1))
    response = customer.client.get(customer.at("voltage/"))
    assert response.status_code == 404
    assert "This link does not open a request" in response.content.decode()


PAGES = ["", "check/", "equipment/", "voltage/", "link/", "job/"]


@pytest.mark.parametrize("page", PAGES)
def test_a_strangers_key_opens_nothing(customer: Visitor, stranger: Visitor, page: str) -> None:
    theirs = customer.client.cookies["request_key"].value
    stranger.client.cookies["request_key"] = stranger.client.cookies["request_key"].value
    assert stranger.client.get(customer.at(page)).status_code == 404
    assert Client().get(customer.at(page)).status_code == 404
    assert customer.client.get(customer.at(page)).status_code in (200, 302)
    assert theirs


def test_a_row_of_somebody_elses_request_is_not_there(customer: Visitor, stranger: Visitor) -> None:
    theirs = RequestLoad.objects.get(request__reference=customer.reference)
    for act in ("copy", "remove", "up"):
        response = stranger.client.post(stranger.at(f"equipment/{theirs.pk}/{act}/"))
        assert response.status_code == 404


@pytest.mark.parametrize("page", PAGES)
def test_pages_of_a_request_stay_out_of_caches(customer: Visitor, page: str) -> None:
    response = customer.client.get(customer.at(page))
    assert response["Cache-Control"] == "no-store"
    assert response["X-Robots-Tag"] == "noindex, nofollow"


def test_after_sending_every_page_leads_to_where_it_stands(demo_fleet: None, db: None) -> None:
    customer = Visitor()
    customer.fill(voltage={"supply": "unsure"})
    customer.send()
    for page in ("voltage/", "check/", "equipment/"):
        assert customer.client.get(customer.at(page))["Location"] == customer.at()
    assert customer.client.post(customer.at("voltage/"), {"supply": "120/240"}).status_code == 302


def test_the_confirmation_has_reference_next_step_and_contact(demo_fleet: None, db: None) -> None:
    customer = Visitor()
    customer.fill(voltage={"supply": "unsure"})
    customer.send()
    words = customer.get("").get_text(" ", strip=True)
    assert customer.reference in words
    assert "answers you by" in words
    assert "970 555 0142" in words
    assert "The voltage is not settled yet" in words


def test_another_tab_is_not_written_over(customer: Visitor) -> None:
    customer.fill_equipment()
    seen = customer.get("voltage/").select_one("#seen")["value"]
    customer.post("voltage/", {"supply": "480Y/277"})
    response = customer.client.post(customer.at("voltage/"), {"supply": "208Y/120", "seen": seen})
    assert response.status_code == 409
    words = soup(response).select_one("#clash").get_text(" ", strip=True)
    assert "480 volts" in words
    assert "208 volts" in words
    fresh = soup(response).select_one("#seen")["value"]
    kept = customer.client.post(customer.at("voltage/"), {"supply": "208Y/120", "seen": fresh})
    assert kept.status_code == 302


def test_typing_is_kept_before_continue(customer: Visitor) -> None:
    seen = customer.get("voltage/").select_one("#seen")["value"]
    customer.client.post(customer.at("voltage/keep/"), {"supply": "480Y/277", "seen": seen})
    assert customer.get("voltage/").select_one("#q-supply-3").has_attr("checked")
    load = customer.load_page()
    seen = customer.get(load).select_one("#seen")["value"]
    customer.client.post(customer.at(f"{load}keep/"), {"nameplate": "15 h", "seen": seen})
    assert customer.get(load).select_one("#q-nameplate").get_text().strip() == "15 h"
    assert "Pump is not filled in yet. Open it, or remove it." in summary(
        customer.post("equipment/")
    )


def test_another_tab_is_not_written_over_in_a_row_either(customer: Visitor) -> None:
    page = customer.load_page()
    seen = customer.get(page).select_one("#seen")["value"]
    customer.post(page, PUMP)
    response = customer.client.post(
        customer.at(page), {**PUMP, "nameplate": "20 hp 460 V 3 ph", "seen": seen}
    )
    assert response.status_code == 409
    assert "20 hp 460 V 3 ph" in soup(response).select_one("#clash").get_text()


def test_late_news_of_typing_does_not_undo_what_was_saved(customer: Visitor) -> None:
    page = customer.load_page()
    seen = customer.get(page).select_one("#seen")["value"]
    customer.post(page, PUMP)
    customer.client.post(customer.at(f"{page}keep/"), {**PUMP, "seen": seen})
    assert RequestLoad.objects.get().draft == {}
    version = HireRequest.objects.get(reference=customer.reference).version
    customer.client.post(customer.at(f"{page}keep/"), {**PUMP, "seen": seen})
    assert HireRequest.objects.get(reference=customer.reference).version == version


def test_the_site_is_named_and_the_nearest_yard_is_its_branch(
    demo_fleet: None, db: None, settings: Any
) -> None:
    settings.SETWRIGHT_BRANCH_SOURCE = "tests.intake.visitor.demo_branches"
    customer = Visitor()
    customer.fill()
    assert "about 3 miles from our yard Ridge yard" in customer.get("check/").get_text()
    customer.send()
    assert HireRequest.objects.get(reference=customer.reference).branch_code == "RIDGE"


def test_the_picture_appears_with_the_second_row(demo_fleet: None, customer: Visitor) -> None:
    customer.post(customer.load_page(), PUMP)
    assert not customer.get("equipment/").select(".picture")
    customer.client.post(customer.at("equipment/add/"), {"kind": "lamp"})
    customer.post(customer.load_page(), LAMPS)
    words = customer.get("equipment/").select_one(".picture").get_text(" ", strip=True)
    assert "That points at a set" in words
    assert "Still open: the voltage" in words


def test_a_plate_is_read_back_field_by_field(customer: Visitor) -> None:
    path = customer.at(f"{customer.load_page()}plate/")
    said = soup(customer.client.post(path, {"nameplate": "15 hp 460 V 3 ph gizmo"}))
    words = said.get_text(" ", strip=True)
    assert "Power 15 hp" in words
    assert "Voltage 460 V" in words
    assert "the code letter" in words
    assert "gizmo" in words


def test_a_contradicting_plate_is_doubted_gently_and_can_be_sent(customer: Visitor) -> None:
    plate = "15 hp 460 V 3 ph 60 Hz 45 A code G"
    path = customer.at(f"{customer.load_page()}plate/")
    words = soup(customer.client.post(path, {"nameplate": plate})).get_text(" ", strip=True)
    assert "The plate says 45 A, but 15 hp at 460 V usually draws about 21 A" in words
    assert customer.post(customer.load_page(), {**PUMP, "nameplate": plate}).status_code == 302


def test_a_plate_that_does_not_fit_the_voltage_is_doubted_gently(customer: Visitor) -> None:
    customer.post("voltage/", {"supply": "120/240"})
    path = customer.at(f"{customer.load_page()}plate/")
    words = soup(customer.client.post(path, {"nameplate": PUMP["nameplate"]})).get_text()
    assert "does not fit the 120/240 V you asked for" in words


@pytest.mark.parametrize("junk", ["\x00", "a\x00b", "x" * 100_000, "🚜" * 300, "\u202e460"])
def test_junk_is_kept_or_left_but_never_breaks_a_page(customer: Visitor, junk: str) -> None:
    seen = customer.get("site/").select_one("#seen")["value"]
    kept = customer.client.post(customer.at("site/keep/"), {"altitude": junk, "seen": seen})
    assert kept.status_code == 200
    assert customer.client.get(customer.at("site/")).status_code == 200
    assert customer.post("site/", {"altitude": junk}).status_code == 422
    assert customer.client.get(customer.at("check/")).status_code == 200


@pytest.mark.parametrize("number", ["0", "9" * 18, "9" * 40])
def test_a_number_that_names_no_row_is_not_found(customer: Visitor, number: str) -> None:
    path = customer.at(f"equipment/{number}/remove/")
    assert customer.client.post(path).status_code == 404
    assert customer.client.get(customer.at(f"photo/{number}/")).status_code == 404


def test_no_size_is_shown_for_plates_that_do_not_go_with_the_voltage(
    demo_fleet: None, customer: Visitor
) -> None:
    customer.fill_equipment()
    customer.post("voltage/", {"supply": "120/240"})
    page = customer.get("picture/")
    assert not page.select("svg")
    assert "A plate does not go with the voltage you chose" in page.get_text()


def test_a_yard_in_the_same_town_is_not_zero_miles_away(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(places, "nearest_branch", lambda zip_code: (Yard("R", "Ridge"), Decimal(0)))
    assert places.place_sentence("80424") == "That is Breckenridge, CO, where our yard Ridge is."
