"""A promised call back: recorded by one press; until then the duty, then the next, is called."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from intake.events.kinds import sentence
from intake.models import Event, OutboxMessage, WebhookDelivery, WebhookEndpoint
from quotes.emergency.paging.calls import (
    NoCallOwed,
    _claimed,
    call_back_record,
    calls_escalate,
)
from quotes.emergency.paging.letters import page_letter
from quotes.emergency.paging.services import MAIL_TOPIC
from quotes.models import CallEscalation, CallStep, DutyTurn, Need, NeedState, Page
from quotes.sweeps import call_again
from tests.intake.desk import cast
from tests.quotes.cast import NOW
from tests.quotes.emergency import storm
from tests.quotes.emergency.conftest import express_form, signed_in, site_made

pytestmark = pytest.mark.django_db
PROMISED = NOW + timedelta(minutes=30)
LATER = PROMISED + timedelta(minutes=15)  # the interval as it comes
Asked = Callable[..., Need]


def mailed(name: str, role: str, *branches: str) -> User:
    user = cast.person(name, role, *branches)
    User.objects.filter(pk=user.pk).update(email=f"{name}@ridge.example")
    return user


@pytest.fixture
def need(company: None, client: Client, frozen: None) -> Need:
    """Asked for by an express request, with a duty rep, a manager here and one elsewhere."""
    rep = mailed("ida", "rep")
    mailed("max", "manager")
    mailed("elsewhere", "manager", "NOWHERE")
    DutyTurn.objects.create(
        user=rep, email="ida@ridge.example", phone="970 555 0172",
        starts_at=NOW - timedelta(hours=1), ends_at=NOW + timedelta(hours=9),
    )  # fmt: skip
    WebhookEndpoint.objects.create(
        name="pager", url="https://pager.example/", kinds=["emergency.requested"], created_at=NOW
    )
    client.post("/emergency/", express_form(client))
    return Need.objects.select_related("request").get()


def called(step: int) -> set[str]:
    return set(Page.objects.filter(step=step).values_list("target", flat=True))


def test_nobody_is_called_again_before_the_promised_time(need: Need) -> None:
    assert calls_escalate(now=PROMISED - timedelta(seconds=1)) == 0
    assert called(1) == set()


def test_the_duty_is_called_again_then_the_next_person(need: Need) -> None:
    assert calls_escalate(now=PROMISED) == 1
    assert (called(1), called(2)) == ({"ida@ridge.example", "pager"}, set())
    assert calls_escalate(now=LATER - timedelta(seconds=1)) == 0
    assert calls_escalate(now=LATER) == 1
    assert called(2) == {"max@ridge.example", "pager"}  # not the manager of another branch
    assert calls_escalate(now=LATER + timedelta(days=1)) == 0
    told = [sentence(event) for event in Event.objects.filter(kind="call_back_overdue")]
    assert "called the duty again: ida@ridge.example" in told[0]
    assert "called the next person: max@ridge.example" in told[1]
    assert WebhookDelivery.objects.filter(kind="emergency.requested").count() == 3


def test_a_sweep_that_comes_twice_or_late_calls_once(need: Need) -> None:
    with time_machine.travel(LATER + timedelta(hours=2), tick=False):
        assert [call_again(), call_again()] == [True, False]
        for _ in range(3):
            calls_escalate(now=LATER + timedelta(hours=2))
    assert CallEscalation.objects.filter(need=need).count() == 2
    assert OutboxMessage.objects.filter(topic=MAIL_TOPIC).count() == 3  # first, again, next


def test_a_step_is_one_row_whoever_comes_first(need: Need) -> None:
    assert _claimed(need, CallStep.PASSED, PROMISED)
    assert not _claimed(need, CallStep.PASSED, LATER)  # as by another process, a moment later
    assert calls_escalate(now=PROMISED) == 0


def test_the_owner_names_the_next_person_and_the_interval(need: Need, settings: Any) -> None:
    settings.EMERGENCY_CALL_NEXT_MINUTES = 5
    settings.EMERGENCY_NEXT_EMAILS = ["boss@ridge.example"]
    calls_escalate(now=PROMISED + timedelta(minutes=5))
    assert called(2) == {"boss@ridge.example", "pager"}


def test_one_press_records_the_call_and_nobody_is_called_again(need: Need, client: Client) -> None:
    client.force_login(User.objects.get(username="ida"))
    address = reverse("quotes:emergency_called", args=[need.pk])
    assert client.post(address, {"note": "Nia, pump runs dry at six"}).status_code == 302
    need.refresh_from_db()
    assert (need.called_back_at, need.call_note) == (NOW, "Nia, pump runs dry at six")
    assert calls_escalate(now=LATER) == 0
    told = sentence(need.request_or_fail.events.get(kind="called_back"))
    assert (
        told == "Ida called back about Alder County: Lift station 2, Mill Road: " + need.call_note
    )
    assert client.post(address, {"note": "again"}).status_code == 302  # the same press twice
    assert need.request_or_fail.events.filter(kind="called_back").count() == 1
    assert "We have called you back" in customers_page(need)


def test_recorded_by_another_the_note_is_kept_on_the_page(need: Need, client: Client) -> None:
    call_back_record(need_id=need.pk, note="", actor=User.objects.get(username="max"), now=NOW)
    client.force_login(User.objects.get(username="ida"))
    answer = client.post(reverse("quotes:emergency_called", args=[need.pk]), {"note": "Mine"})
    assert (answer.status_code, b'value="Mine"' in answer.content) == (409, True)


def test_a_letter_that_is_late_does_not_call_about_what_was_done(need: Need) -> None:
    calls_escalate(now=PROMISED)
    page = Page.objects.get(step=1, kind="mail")
    letter = page_letter(page, also=[], message_id="1", now=PROMISED + timedelta(minutes=3))
    assert letter is not None
    assert letter.subject.startswith("CALL BACK OVERDUE: rank 2: Alder County")
    assert "CALL BACK BY 09:30 MDT, passed 3 min ago: Nia Demo, 970 555 0171" in letter.body
    assert reverse("quotes:emergency_need", args=[need.pk]) in letter.body
    call_back_record(need_id=need.pk, note="", actor=User.objects.get(username="ida"), now=NOW)
    assert page_letter(page, also=[], message_id="1", now=LATER) is None


def test_what_is_over_owes_no_call(need: Need) -> None:
    Need.objects.update(state=NeedState.WITHDRAWN)
    assert calls_escalate(now=LATER) == 0
    with pytest.raises(NoCallOwed):
        call_back_record(need_id=need.pk, note="", actor=User.objects.get(username="ida"), now=NOW)


PASSED = "call-back promised for 09:30 MDT passed 12 min ago"


def test_the_overdue_call_stands_on_every_page_of_it(need: Need, client: Client) -> None:
    Need.objects.update(event=storm.event())
    client.force_login(User.objects.get(username="max"))
    reference = need.request_or_fail.reference
    with time_machine.travel(PROMISED + timedelta(minutes=12), tick=False):
        for name, args in (
            ("quotes:emergency_events", []),
            ("quotes:emergency_event", ["STORM-1"]),
            ("quotes:emergency_board", ["STORM-1"]),
            ("quotes:emergency_need", [need.pk]),
            ("desk:case", [reference]),
        ):
            page = client.get(reverse(name, args=args)).content.decode()
            assert PASSED.lower() in page.lower(), name
        assert "that time is over" in customers_page(need)


def customers_page(need: Need) -> str:
    from intake.requests.links import COOKIE, link_token

    client = Client()
    request = need.request_or_fail
    client.cookies[COOKIE] = link_token(request.reference, request.link_generation)
    page = client.get(f"/request/{request.reference}/emergency/").content
    return BeautifulSoup(page, "html.parser").get_text(" ", strip=True)


def test_sites_of_one_press_are_called_about_together_and_recorded_together(
    company: None, body: Any, frozen: None
) -> None:
    rep = mailed("ida", "rep")
    for key in ("A", "B", "C"):
        site_made(body, key=key, transfer_equipment="none", name=f"Well {key}")
    signed_in(body).post("/emergency/sites/", {"site": ["A", "B", "C"], "need_in": "6"})
    before = OutboxMessage.objects.filter(topic=MAIL_TOPIC).count()
    assert calls_escalate(now=PROMISED) == 3
    assert OutboxMessage.objects.filter(topic=MAIL_TOPIC).count() == before + 1
    first = Need.objects.order_by("pk")[0]
    done = call_back_record(need_id=first.pk, note="", with_others=True, actor=rep, now=PROMISED)
    assert done == 3
    assert calls_escalate(now=LATER) == 0
