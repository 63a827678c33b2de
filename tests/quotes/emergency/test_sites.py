"""Standing sites: entered, sized ahead, reviewed, and asked for by one press."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from bs4 import BeautifulSoup
from django.core import mail
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from intake.models import Case, OutboxMessage, Tier
from quotes.emergency.needs import NO_TRANSFER
from quotes.emergency.organisations.letters import link_letter, review_letter
from quotes.emergency.organisations.services import (
    LETTERS_AN_HOUR,
    TOPIC,
    body_link_ask,
    body_link_renew,
)
from quotes.emergency.sites.fields import COLUMNS
from quotes.emergency.sites.services import REVIEW_EVERY, REVIEW_TOPIC, reviews_remind
from quotes.emergency.sites.sizing import SIZE_TOPIC, site_size, sites_size_due
from quotes.emergency.sites.urls import urlpatterns
from quotes.models import (
    Need,
    NeedState,
    Page,
    PublicBody,
    SetType,
    SiteUpload,
    StandingSite,
)
from tests.quotes.cast import NOW
from tests.quotes.emergency.conftest import NO_LOADS, SITE, body_made, signed_in, site_made

SITES = "/emergency/sites/"
pytestmark = pytest.mark.django_db


def posted(member: Client, address: str = f"{SITES}add/", **changed: Any) -> Any:
    return member.post(address, {**SITE, **NO_LOADS, **changed})


LOADS = {
    "load-TOTAL_FORMS": "3",
    "load-INITIAL_FORMS": "0",
    "load-0-name": "Office",
    "load-0-kind": "panel",
    "load-0-priority": "2",
    "load-0-nameplate": "20 kW 480 V 3 ph",
    "load-1-name": "Well pump",
    "load-1-kind": "pump",
    "load-1-priority": "1",
    "load-1-nameplate": "15 hp 460 V 3 ph code G",
    "load-1-starting": "soft_starter",
}


def test_a_site_is_entered_with_its_loads_by_priority(member: Client) -> None:
    assert posted(member, **LOADS).status_code == 302
    site = StandingSite.objects.get()
    assert [load["name"] for load in site.loads] == ["Well pump", "Office"]
    assert (site.county, site.state, float(site.lead_length_m or 0)) == ("Morgan", "CO", 22.9)
    assert OutboxMessage.objects.filter(topic=SIZE_TOPIC, payload__site_id=site.pk).exists()


WRONG = [
    ({"key": ""}, "key"),
    ({"key": "a b"}, "key"),
    ({"facility_kind": "castle"}, "facility_kind"),
    ({"zip": "00000"}, "zip"),
    ({"lead_length": "far"}, "lead_length"),
    ({"latitude": "40"}, "longitude"),
    ({"main_breaker_a": "3"}, "main_breaker_a"),
    ({"night_phone": "911"}, "night_phone"),
    ({"assessed_on": "soon"}, "assessed_on"),
    ({"state": "Colorado"}, "state"),
]


@pytest.mark.parametrize(("changed", "field"), WRONG, ids=[str(c) for c, _ in WRONG])
def test_a_wrong_field_is_told_and_nothing_is_lost(
    member: Client, changed: dict[str, str], field: str
) -> None:
    response = posted(member, **changed)
    page = BeautifulSoup(response.content, "html.parser")
    assert response.status_code == 422
    assert page.select_one(f".error-summary a[href='#id_{field}']")
    assert page.select_one("[name=street]")["value"] == "12 Spring Lane"
    assert not StandingSite.objects.exists()


def parts(page: BeautifulSoup) -> dict[str, bool]:
    """The parts of the form by their titles, and whether each is open."""
    return {
        part.select_one("summary h2").get_text(): part.has_attr("open")  # type: ignore[union-attr]
        for part in page.select("form > details.form-part")
    }


def shown(client: Client, address: str) -> BeautifulSoup:
    return BeautifulSoup(client.get(address).content, "html.parser")


NEW_SITE_OPEN = {"The site", "Service", "Connection"}  # the body's own number answers Who


def test_a_new_site_opens_the_parts_that_must_be_filled_in(member: Client) -> None:
    found = parts(shown(member, f"{SITES}add/"))
    assert {title for title, is_open in found.items() if is_open} == NEW_SITE_OPEN
    assert list(found)[-2:] == ["Who", "Loads, by priority"]


def test_what_is_on_file_is_folded_and_counted(member: Client, body: PublicBody) -> None:
    page = shown(member, f"{SITES}site/{site_made(body, loads=PRIORITIES).pk}/")
    assert not any(parts(page).values())
    said = [one.get_text() for one in page.select(".form-part > summary > .quiet")]
    assert (said[0], said[-1]) == ("4 of 5 filled in", f"{len(PRIORITIES)} filled in")


@pytest.mark.parametrize(
    ("changed", "title"),
    [
        ({"latitude": "91"}, "Exactly where"),
        ({"night_phone": "911"}, "Who"),
        ({"zip": ""}, "The site"),
        ({**LOADS, "load-1-nameplate": "900000 hp"}, "Loads, by priority"),
    ],
)
def test_what_is_wrong_is_open_and_what_is_right_folded(
    member: Client, changed: dict[str, str], title: str
) -> None:
    page = BeautifulSoup(posted(member, **changed).content, "html.parser")
    assert [one for one, is_open in parts(page).items() if is_open] == [title]
    for link in page.select(".error-summary a"):
        field = page.select_one(str(link["href"]))
        assert field is not None
        assert all(part.has_attr("open") for part in field.find_parents("details"))


def test_all_parts_are_one_form_in_the_order_of_the_table(member: Client) -> None:
    page = shown(member, f"{SITES}add/")
    (form,) = [one for one in page.select("form") if one.select_one("[name=key]")]
    names = [str(one["name"]) for one in form.select(".form-part [name]")]
    assert tuple(names[: len(COLUMNS)]) == COLUMNS
    assert len(form.select(".button")) == 1
    assert not form.select("details .button, details .button-quiet")


def test_more_loads_are_asked_with_their_part_open(member: Client) -> None:
    response = posted(member, **LOADS, more="1")
    site = StandingSite.objects.get()
    assert response["Location"] == f"{SITES}site/{site.pk}/?loads=1#loads"
    page = shown(member, response["Location"].partition("#")[0])
    assert parts(page)["Loads, by priority"]
    rows = page.select("#loads > .form-part")
    assert [row.has_attr("open") for row in rows] == [False, False, True, False, False]
    assert "Load 1: Well pump" in rows[0].get_text()
    assert site.loads[0]["name"] == "Well pump"


def test_a_plate_that_cannot_be_read_is_told(member: Client) -> None:
    response = posted(member, **{**LOADS, "load-1-nameplate": "900000 hp"})
    assert response.status_code == 422
    assert b"load-1-nameplate" in response.content


def test_a_code_is_there_once(member: Client, body: PublicBody) -> None:
    site_made(body)
    response = posted(member)
    assert response.status_code == 422
    assert StandingSite.objects.count() == 1


def test_a_change_by_somebody_else_is_not_written_over(member: Client, body: PublicBody) -> None:
    site = site_made(body)
    address = f"{SITES}site/{site.pk}/"
    assert posted(member, address, version="1", name="First").status_code == 302
    assert posted(member, address, version="1", name="Second").status_code == 422
    site.refresh_from_db()
    assert (site.name, site.version) == ("First", 2)


def test_every_option_of_a_site_passes_every_check(company: None, body: PublicBody) -> None:
    site = site_made(body, loads=PRIORITIES, partial_load_ok=True)
    assert site_size(site_id=site.pk, now=NOW)
    site.refresh_from_db()
    full = {one["set_code"] for one in site.options if one["share"] == 1}
    part = {one["set_code"]: one["share"] for one in site.options if one["share"] < 1}
    checks = [check for one in site.options for check in one["checks"]]
    assert full
    assert all(check["passed"] or not check["binding"] for check in checks)
    assert part
    alone = {one["set_code"] for one in site.options if one["share"] == 1 and one["count"] == 1}
    assert full
    assert not alone & set(part)
    assert site.sizing["sets"]


def test_one_of_a_pair_is_tried_for_part_of_the_load(company: None, body: PublicBody) -> None:
    site = site_made(body, loads=PRIORITIES, partial_load_ok=True)
    SetType.objects.exclude(code="T60").update(offered=False)
    site_size(site_id=site.pk, now=NOW)
    site.refresh_from_db()
    found = [(one["count"], one["share"] < 1) for one in site.options]
    assert found == [(2, False), (1, True)]


def test_a_part_is_no_way_around_a_doubt_about_the_whole(company: None, body: PublicBody) -> None:
    """Cold or heat changes what connects the whole load, and no temperature is given."""
    loads = [
        {"name": "Heating unit", "kind": "hvac", "quantity": 2, "priority": 1,
         "nameplate": "MCA 32 MOCP 45 208/230-3-60", "starting": "across_the_line"},
        {"name": "Panel", "kind": "panel", "quantity": 1, "priority": 2,
         "nameplate": "100 A 208Y/120 3 ph panel"},
    ]  # fmt: skip
    site = site_made(body, loads=loads, supply="208Y/120", partial_load_ok=True)
    site_size(site_id=site.pk, now=NOW)
    site.refresh_from_db()
    assert {one["share"] == 1 for one in site.options} == {True, False}
    assert any("connection" in why for why in site.sizing["person"]), site.sizing["person"]


PRIORITIES = [
    {"name": "Pump", "kind": "pump", "quantity": 1, "nameplate": "7.5 hp 460 V 3 ph code G",
     "starting": "soft_starter", "priority": 1},
    {"name": "Heaters", "kind": "heater", "quantity": 4, "nameplate": "10 kW 480 V 3 ph",
     "starts_after": "Pump", "priority": 2},
]  # fmt: skip


def test_a_site_that_needs_all_its_load_has_no_part(company: None, body: PublicBody) -> None:
    site = site_made(body, loads=PRIORITIES)
    SetType.objects.exclude(code__in=["T20", "T100"]).update(offered=False)
    site_size(site_id=site.pk, now=NOW)
    site.refresh_from_db()
    assert {one["share"] for one in site.options} == {1.0}
    assert {one["set_code"] for one in site.options} == {"T100"}


def test_is_sized_again_when_the_fleet_changes(company: None, body: PublicBody) -> None:
    SetType.objects.exclude(code__in=["T100", "T150"]).update(offered=False)
    site = site_made(body)
    assert sites_size_due(now=NOW) == 1
    assert sites_size_due(now=NOW) == 0  # it waits already
    OutboxMessage.objects.update(done_at=NOW)
    site_size(site_id=site.pk, now=NOW)
    assert sites_size_due(now=NOW) == 0
    SetType.objects.filter(code="T100").update(offered=False)
    assert sites_size_due(now=NOW) == 1


def test_what_cannot_be_sized_says_so_and_is_not_tried_for_ever(
    company: None, body: PublicBody
) -> None:
    site = site_made(body, loads=[{**PRIORITIES[1], "starts_after": "Nobody"}])
    site_size(site_id=site.pk, now=NOW)
    site.refresh_from_db()
    assert site.sizing["person"]
    assert sites_size_due(now=NOW) == 0


def test_a_year_later_the_body_is_reminded_once_a_month(body: PublicBody) -> None:
    site_made(body)
    later = NOW + REVIEW_EVERY
    assert reviews_remind(now=later - timedelta(days=1)) == 0
    assert [reviews_remind(now=later + timedelta(days=n)) for n in (0, 1, 29, 30)] == [1, 0, 0, 1]
    assert OutboxMessage.objects.filter(topic=REVIEW_TOPIC).count() == 2
    letter = review_letter(body, on=later.date(), message_id="1")
    assert letter is not None
    assert "WELL-3" in letter.body
    assert "/emergency/key/" in letter.body


def test_a_press_says_that_nothing_has_changed(member: Client, body: PublicBody) -> None:
    site = site_made(body, review_due_on=NOW.date())
    member.post(f"{SITES}site/{site.pk}/reviewed/")
    site.refresh_from_db()
    assert site.review_due_on == NOW.date() + REVIEW_EVERY


def press(member: Client, *keys: str, need_in: str = "6") -> Any:
    return member.post(SITES, {"site": list(keys), "need_in": need_in})


def test_ticked_sites_become_needs_by_one_press(
    company: None, member: Client, body: PublicBody
) -> None:
    for key in ("A", "B", "C"):
        site_made(body, key=key)
    assert press(member, "A", "C").status_code == 200
    needs = list(Need.objects.order_by("key"))
    assert [need.key for need in needs] == ["A", "C"]
    assert {need.need_by for need in needs} == {NOW + timedelta(hours=6)}
    assert needs[0].connection_data["connection"] == "cam"
    assert Page.objects.count() == 1  # one call tells of both
    message = OutboxMessage.objects.get(topic="quotes.mail_page")
    assert len(message.payload["also"]) == 1


def test_pressed_again_nothing_is_asked_twice(
    company: None, member: Client, body: PublicBody
) -> None:
    site_made(body, key="A")
    for _ in range(3):
        press(member, "A")
    assert Need.objects.count() == 1
    Need.objects.update(state=NeedState.DONE)
    press(member, "A")
    assert Need.objects.count() == 2  # power is needed once more


def test_a_sized_site_is_ready_for_a_plan_at_once(
    company: None, member: Client, body: PublicBody
) -> None:
    site = site_made(body, loads=PRIORITIES)
    site_size(site_id=site.pk, now=NOW)
    press(member, site.key)
    need = Need.objects.get()
    site.refresh_from_db()
    assert need.options == site.options
    assert not need.needs_person
    assert need.request is None


@pytest.mark.parametrize(
    ("fields", "said"),
    [({"transfer_equipment": "none"}, NO_TRANSFER), ({"facility_kind": "medical"}, "A life may")],
)
def test_what_needs_a_person_also_gets_a_case(
    company: None, member: Client, body: PublicBody, fields: dict[str, Any], said: str
) -> None:
    site = site_made(body, loads=PRIORITIES, **fields)
    site_size(site_id=site.pk, now=NOW)
    press(member, site.key)
    need = Need.objects.get()
    assert need.waits_for_person
    assert said in need.person_reason
    assert Case.objects.get(request=need.request).tier == Tier.EMERGENCY
    note = need.request.answers.get(key="note").value
    assert "Connection: cam" in note  # the hook-up goes along to desk and order


def test_nothing_ticked_is_told(member: Client, body: PublicBody) -> None:
    site_made(body)
    assert press(member).status_code == 422
    assert not Need.objects.exists()


OWN_LISTS = {"sites", "site_add", "site_upload", "site_template"}  # each body has its own
SENT = "key,name,facility_kind\nWELL-9,Ninth well,water\n"
TEMPLATES = ("sites.csv", "sites.xlsx", "loads.csv")


def addresses(site: StandingSite, upload: SiteUpload) -> list[tuple[str, str]]:
    """Every address of a body's pages, as the map of addresses has it; templates all three."""
    known = {"site_id": site.pk, "upload_id": upload.pk}
    found = []
    for pattern in urlpatterns:
        wanted = pattern.pattern.converters
        names = TEMPLATES if "name" in wanted else ("",)
        for name in names:
            kwargs = {one: known.get(one, name) for one in wanted}
            found.append((str(pattern.name), reverse(f"quotes:{pattern.name}", kwargs=kwargs)))
    return found


@pytest.fixture
def others(body: PublicBody, frozen: None) -> list[tuple[str, str]]:
    """The pages of a body that has a site and has sent a table."""
    site = site_made(body)
    table = SimpleUploadedFile("own.csv", SENT.encode(), "text/csv")
    signed_in(body).post(f"{SITES}upload/", {"table": table})
    return addresses(site, SiteUpload.objects.get())


def test_the_owner_of_the_pages_opens_every_one(
    body: PublicBody, others: list[tuple[str, str]]
) -> None:
    pressed = {"site_reviewed", "site_archived"}
    client = signed_in(body)
    answers = {name: client.get(address).status_code for name, address in others}
    assert {name for name, status in answers.items() if status != 200} == pressed
    assert len(others) > len(urlpatterns)
    assert client.get(f"{SITES}template/other.csv").status_code == 404


@pytest.mark.parametrize("method", ["get", "post"])
def test_without_a_link_no_page_of_a_body_is_there(
    others: list[tuple[str, str]], method: str
) -> None:
    for _name, address in others:
        answer = getattr(Client(), method)(address, {**SITE, **NO_LOADS, "site": "WELL-3"})
        assert answer.status_code in (404, 405), address
        for private in (b"Well house 3", b"own.csv", b"Ninth well", b"970 555 0171"):
            assert private not in answer.content, address
    assert unchanged()


@pytest.mark.parametrize("method", ["get", "post"])
def test_another_body_finds_its_own_pages_and_none_of_these(
    others: list[tuple[str, str]], method: str
) -> None:
    stranger = signed_in(body_made("Birch County"))
    for name, address in others:
        said = {"take": "1", "version": "1"} if method == "post" else {}
        answer = getattr(stranger, method)(address, said)
        allowed = (200, 405, 422) if name in OWN_LISTS else (404, 405)
        assert answer.status_code in allowed, address
        for private in (b"Well house 3", b"own.csv", b"Ninth well"):
            assert private not in answer.content, address
    press(stranger, "WELL-3")
    assert unchanged()


def unchanged() -> bool:
    site = StandingSite.objects.get()
    kept = (site.name, site.archived_at, site.version, site.review_due_on)
    was = ("Well house 3", None, 1, NOW.date() + timedelta(days=365))
    return kept == was and not Need.objects.exists() and SiteUpload.objects.get().taken_at is None


def test_the_link_opens_until_it_is_renewed_or_over(body: PublicBody, frozen: None) -> None:
    letter = link_letter(body, message_id="1")
    address = next(line for line in letter.body.splitlines() if "/emergency/key/" in line)
    path = address[address.index("/emergency/") :]
    client = Client()
    assert client.get(path, follow=True).status_code == 200
    body_link_renew(body=body, now=NOW)
    assert Client().get(path).status_code == 404
    assert client.get(SITES).status_code == 404
    PublicBody.objects.update(link_expires_at=NOW)
    assert signed_in(body).get(SITES).status_code == 404


def test_the_link_is_sent_again_to_the_contact_alone(body: PublicBody, frozen: None) -> None:
    before = OutboxMessage.objects.filter(topic=TOPIC).count()
    pages = [
        Client().post("/emergency/link/", {"email": address}).content
        for address in ("stranger@example.com", "NIA@alder.example")
    ]
    assert [b"on its way" in page for page in pages] == [True, True]
    for _ in range(5):
        body_link_ask(address="nia@alder.example", now=NOW)
    assert OutboxMessage.objects.filter(topic=TOPIC).count() - before <= LETTERS_AN_HOUR
    assert not mail.outbox
