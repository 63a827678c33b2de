"""The express request: a number and a call back at once, whatever the queues are doing."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any

import pytest
from bs4 import BeautifulSoup
from django.contrib.auth.models import User
from django.core import mail
from django.db import OperationalError
from django.test import Client

from intake.models import (
    Case,
    Event,
    HireRequest,
    OutboxMessage,
    Status,
    Tier,
    WebhookDelivery,
    WebhookEndpoint,
)
from quotes.emergency.needs import LIFE_SAFETY, NO_TRANSFER
from quotes.emergency.paging.letters import page_letter
from quotes.emergency.sizing_needs import need_size, needs_size_due
from quotes.models import DutyTurn, Need, NeedState, Page, Quote
from tests.quotes.cast import NOW
from tests.quotes.emergency.conftest import express_form, signed_in

pytestmark = pytest.mark.usefixtures("company", "frozen")


def asked(client: Client, **changed: str) -> Need:
    response = client.post("/emergency/", express_form(client, **changed))
    assert response.status_code == 302, BeautifulSoup(response.content, "html.parser").select(
        ".error-text"
    )
    return Need.objects.get(request__reference=response["Location"].split("/")[2])


def test_gives_a_number_and_a_call_back_at_once(client: Client) -> None:
    response = client.post("/emergency/", express_form(client), follow=True)
    text = BeautifulSoup(response.content, "html.parser").get_text(" ", strip=True)
    need = Need.objects.get()
    assert need.request is not None
    assert need.request.reference in text
    assert need.call_back_by == NOW + timedelta(minutes=30)
    assert "9:30 a.m." in text  # 15:30 UTC in Colorado in May


def test_makes_request_case_need_and_messages_together(client: Client) -> None:
    need = asked(client)
    case = Case.objects.get(request=need.request)
    assert (need.request.status, case.tier, case.urgent) == (
        Status.IN_REVIEW,
        Tier.EMERGENCY,
        True,
    )
    assert (need.state, need.rank, need.need_by) == (NeedState.NEEDED, 2, NOW + timedelta(hours=6))
    topics = set(OutboxMessage.objects.values_list("topic", flat=True))
    assert {"quotes.mail_page", "quotes.size_need"} <= topics
    assert {"need_accepted", "case_opened", "duty_paged"} <= set(
        Event.objects.values_list("kind", flat=True)
    )


def test_nothing_is_half_there_when_it_fails(client: Client, monkeypatch: Any) -> None:
    def broken(**_: Any) -> None:
        raise RuntimeError("power cut")

    monkeypatch.setattr("quotes.emergency.express.services.need_page", broken)
    with pytest.raises(RuntimeError):
        client.post("/emergency/", express_form(client))
    assert not HireRequest.objects.exists()
    assert not Need.objects.exists()
    assert not OutboxMessage.objects.exists()


def test_a_database_that_is_busy_once_loses_nothing(client: Client, monkeypatch: Any) -> None:
    from quotes.emergency.express import services

    page, calls = services.need_page, []

    def busy_once(**told: Any) -> Any:
        calls.append(told)
        if len(calls) == 1:
            raise OperationalError("database is locked")
        return page(**told)

    monkeypatch.setattr(services, "need_page", busy_once)
    asked(client)
    assert (len(calls), HireRequest.objects.count(), Need.objects.count()) == (2, 1, 1)


def test_pressed_twice_is_one_and_changed_is_two(client: Client) -> None:
    form = express_form(client)
    first = client.post("/emergency/", form)["Location"]
    assert client.post("/emergency/", form)["Location"] == first
    assert client.post("/emergency/", {**form, "place": "Clinic, Oak Street"})["Location"] != first
    assert Need.objects.count() == 2


def test_goes_ahead_of_the_queue(client: Client) -> None:
    need = asked(client)
    later = need.request
    other = asked(client, place="Clinic, Oak Street").request
    Case.objects.filter(request=other).update(tier=Tier.ANSWERED, due_at=NOW - timedelta(days=9))
    first = Case.objects.order_by("tier", "due_at", "id")[0]  # the order of the queue
    assert first.request == later


def test_life_safety_reaches_a_person(client: Client) -> None:
    need = asked(client, facility_kind="medical")
    assert need.needs_person
    assert LIFE_SAFETY in need.person_reason
    assert need.rank == 1
    assert need.request.case.reason == "life_safety"


@pytest.mark.parametrize("said", ["yes", "unsure"])
def test_a_life_that_may_depend_on_it_reaches_a_person(client: Client, said: str) -> None:
    assert LIFE_SAFETY in asked(client, life_support=said).person_reason


def test_without_transfer_equipment_no_quote_but_a_person_and_why(client: Client) -> None:
    need = asked(client, transfer_equipment="none")
    assert NO_TRANSFER in need.person_reason
    assert need_size(need_id=need.pk, now=NOW)
    need.refresh_from_db()
    assert need.waits_for_person
    assert NO_TRANSFER in need.person_reason
    assert need.request.case.findings.filter(code="backfeed", severity="needs_person").exists()
    page = client.get(f"/request/{need.request.reference}/emergency/").content.decode()
    assert "Nothing parts the building from the utility" in page
    assert not Quote.objects.exists()


def test_with_transfer_equipment_it_is_sized_and_clear_for_a_plan(client: Client) -> None:
    need = asked(client)
    assert need.waits_for_person  # nothing goes out before it is sized
    assert need_size(need_id=need.pk, now=NOW)
    need.refresh_from_db()
    assert need.options
    assert all(
        check["passed"] or not check.get("binding", True)
        for option in need.options
        for check in option["checks"]
    )
    assert need.connection_data["transfer_equipment"] == "manual_switch"
    assert need.request.runs.count() == 2


def test_sizing_again_takes_over_what_a_rep_put_right(client: Client) -> None:
    need = asked(client, transfer_equipment="none")
    need_size(need_id=need.pk, now=NOW)
    need.request.answers.filter(key="transfer_equipment").update(value="yes")
    need.request.runs.update(made_at=NOW + timedelta(minutes=5))
    OutboxMessage.objects.update(done_at=NOW)
    assert needs_size_due(now=NOW + timedelta(minutes=6)) == 1
    assert needs_size_due(now=NOW + timedelta(minutes=7)) == 0  # it waits already
    need_size(need_id=need.pk, now=NOW + timedelta(minutes=6))
    need.refresh_from_db()
    assert need.transfer_equipment == "some"
    assert NO_TRANSFER not in need.person_reason


def test_main_breaker_is_enough(client: Client) -> None:
    need = asked(client, load="", main_breaker_a="200")
    assert need.requirement["loads"][0]["nameplate"] == "200 A 480 V 3 ph"


def test_neither_load_nor_breaker_reaches_a_person(client: Client) -> None:
    need = asked(client, load="")
    need_size(need_id=need.pk, now=NOW)
    need.refresh_from_db()
    assert need.waits_for_person
    assert need.options == []


WRONG = [
    ({"facility_kind": ""}, "facility_kind"),
    ({"facility_kind": "castle"}, "facility_kind"),
    ({"need_in": "at", "need_at": ""}, "need_at"),
    ({"need_in": "at", "need_at": "2020-01-01 08:00"}, "need_at"),
    ({"load": "a lot"}, "load"),
    ({"main_breaker_a": "2"}, "main_breaker_a"),
    ({"supply": ""}, "supply"),
    ({"transfer_equipment": ""}, "transfer_equipment"),
    ({"zip": "00000"}, "zip"),
    ({"phone": "555 0171"}, "phone"),
    ({"contact_name": "\x00"}, "contact_name"),
]


@pytest.mark.parametrize(("changed", "field"), WRONG, ids=[str(c) for c, _ in WRONG])
def test_says_what_to_do_and_loses_nothing(
    client: Client, changed: dict[str, str], field: str
) -> None:
    response = client.post("/emergency/", express_form(client, **changed))
    page = BeautifulSoup(response.content, "html.parser")
    assert response.status_code == 422
    assert page.select_one(f".error-summary a[href='#id_{field}']")
    assert page.select_one("[name=place]")["value"] == "Lift station 2, Mill Road"
    assert not Need.objects.exists()


def test_a_time_is_on_the_clock_there(client: Client) -> None:
    need = asked(client, need_in="at", need_at="2027-05-10T18:00")
    assert need.need_by == NOW.replace(day=11, hour=0)  # 18:00 MDT


def test_pages_the_duty_rep_by_mail(client: Client) -> None:
    need = asked(client, company="Alder County")
    page = Page.objects.get(need=need)
    letter = page_letter(page, also=[], message_id="7", now=NOW)
    assert letter is not None
    letter.send()
    sent = mail.outbox[-1]
    assert "EMERGENCY rank 2: Alder County: Lift station 2, Mill Road" in sent.subject
    for told in (need.key, "970 555 0171", "CALL BACK BY 09:30", "Lift station 2", "kills"):
        assert told in sent.body


def test_pages_whoever_has_the_duty_and_programs_that_listen(client: Client) -> None:
    rep = User.objects.create(username="ida")
    hours = {"starts_at": NOW - timedelta(hours=1), "phone": "970 555 0172"}
    DutyTurn.objects.create(
        user=rep, email="ida@ridge.example", ends_at=NOW + timedelta(hours=9), **hours
    )
    DutyTurn.objects.create(user=rep, email="over@ridge.example", ends_at=NOW, **hours)
    WebhookEndpoint.objects.create(
        name="pager", url="https://pager.example/", kinds=["emergency.requested"], created_at=NOW
    )
    need = asked(client)
    assert set(need.pages.values_list("kind", "target")) == {
        ("mail", "ida@ridge.example"),
        ("webhook", "pager"),
    }
    told = json.loads(WebhookDelivery.objects.get(kind="emergency.requested").body)["data"]
    assert (told["reference"], told["rank"]) == (need.key, 2)
    assert "Nia" not in json.dumps(told)  # it names no person


def test_the_rest_may_come_later_and_takes_nothing_away(client: Client) -> None:
    need = asked(client)
    address = f"/request/{need.request.reference}/emergency/more/"
    client.post(address, {"lead_length_ft": "80", "connection": "cam"})
    client.post(address, {"access_note": "Gate code at the fire station"})
    need.refresh_from_db()
    assert need.connection_data["lead_length_ft"] == "80"
    assert need.connection_data["connection"] == "cam"
    assert "Gate" in need.connection_data["access_note"]
    answers = dict(need.request.answers.values_list("key", "value"))
    assert answers["lead_length"] == "80 ft"  # and it goes with the request to its order
    assert "Gate code at the fire station" in answers["note"]
    assert "cam" in answers["note"]


def test_a_registered_body_is_known(body: Any) -> None:
    client = signed_in(body)
    page = client.get("/emergency/").content.decode()
    assert body.organisation.name in page
    need = asked(client)
    assert need.request.organisation == body.organisation


@pytest.mark.parametrize("path", ["", "more/"])
def test_a_stranger_finds_nothing(client: Client, path: str) -> None:
    need = asked(client)
    address = f"/request/{need.request.reference}/emergency/{path}"
    assert Client().get(address).status_code == 404
    assert Client().post(address, {"access_note": "x"}).status_code in (404, 405)
    need.refresh_from_db()
    assert "access_note" not in need.connection_data


@pytest.mark.parametrize("path", ["/emergency/", "/emergency/link/", "/"])
def test_cautions_stand_on_the_page(client: Client, path: str) -> None:
    page = client.get(path).content.decode()
    assert "backfeed" in page or "utility line" in page


@pytest.mark.parametrize(
    ("language", "says"),
    [("en", "Nothing here authorises any work."),
     ("es", "Nada de lo que aquí se dice autoriza trabajo alguno.")],
)  # fmt: skip
def test_a_page_without_a_plan_speaks_of_none(client: Client, language: str, says: str) -> None:
    page = client.get("/emergency/", headers={"Accept-Language": language}).content.decode()
    assert says in page
    assert "This plan" not in page
    assert "Este plan" not in page
