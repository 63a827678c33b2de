"""Sessions of staff: they end by themselves, and elsewhere by their person's word."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.contrib.auth.models import User
from django.test import Client
from django_otp.oath import totp
from django_otp.plugins.otp_totp.models import TOTPDevice

from config.sweeps import sessions_tidy
from intake.models import Event, WebSession
from tests.intake.desk import cast
from tests.quotes.cast import NOW

pytestmark = pytest.mark.django_db
QUEUE, PAGE = "/desk/", "/accounts/sessions/"


@pytest.fixture
def clock() -> Iterator[Any]:
    with time_machine.travel(NOW, tick=False) as moved:
        yield moved


@pytest.fixture
def rosa(clock: Any) -> User:
    return cast.person("rosa", "rep")


def signed_in(user: User, agent: str = "counter screen") -> Client:
    client = Client(headers={"User-Agent": agent})
    given = {"username": user.username, "password": "a long pass phrase"}
    assert client.post("/accounts/sign-in/", given).status_code == 302
    return client


def opens(client: Client, **headers: str) -> bool:
    return bool(client.get(QUEUE, headers=headers).status_code == 200)


def test_it_ends_when_nothing_was_done_for_long(rosa: User, clock: Any) -> None:
    client = signed_in(rosa)
    for _ in range(3):  # each click begins the two hours anew
        clock.shift(timedelta(minutes=119))
        assert opens(client)
    clock.shift(timedelta(minutes=120))
    assert not opens(client)


def test_what_a_page_asks_by_itself_does_not_keep_it_open(rosa: User, clock: Any) -> None:
    client = signed_in(rosa)
    clock.shift(timedelta(minutes=119))
    assert opens(client, Polled="1")
    clock.shift(timedelta(minutes=1))
    assert not opens(client, Polled="1")
    queue = BeautifulSoup(signed_in(rosa).get(QUEUE).content, "html.parser")
    (polling,) = queue.select("[hx-trigger^=every]")
    assert polling["hx-headers"] == '{"Polled": "1"}'


def test_it_ends_with_the_working_day_however_busy(rosa: User, clock: Any) -> None:
    client = signed_in(rosa)
    for _ in range(11):
        clock.shift(timedelta(hours=1))
        assert opens(client)
        session = client.session
        session["something"] = "changed"  # a session that is written anew gets no later end
        session.save()
    clock.shift(timedelta(hours=1))
    assert not opens(client)


def test_the_owner_may_let_it_hold(rosa: User, clock: Any, settings: Any) -> None:
    settings.SETWRIGHT_SESSION_IDLE_MINUTES = 0
    client = signed_in(rosa)
    clock.shift(timedelta(hours=11))
    assert opens(client)


def test_a_customers_session_is_nobodys_and_stays(clock: Any) -> None:
    store = Client().session
    store["kept"] = "yes"
    store.save()
    clock.shift(timedelta(hours=5))
    assert type(store)(store.session_key)["kept"] == "yes"


def test_the_own_ones_are_shown_and_one_is_ended_there(rosa: User) -> None:
    here, there = signed_in(rosa), signed_in(rosa, "lost phone")
    signed_in(cast.person("cole", "rep"), "a colleague's")
    page = BeautifulSoup(here.get(PAGE).content, "html.parser")
    rows = [row.get_text(" ") for row in page.select("tbody tr")]
    assert len(rows) == 2
    assert "a colleague's" not in page.get_text()
    assert there.session.session_key not in str(page)
    (handle,) = page.select("input[name=session]")
    assert here.post(PAGE, {"session": handle["value"]}).status_code == 302
    assert opens(here)
    assert not opens(there)
    assert Event.objects.filter(kind="sessions_ended", actor=rosa).count() == 1


def test_all_others_are_ended_and_nobody_elses(rosa: User) -> None:
    here, *there = (signed_in(rosa) for _ in range(3))
    colleague = signed_in(cast.person("cole", "rep"))
    here.post(PAGE, {"others": "1"})
    here.post(PAGE, {"session": "made up"})
    assert [opens(one) for one in (here, colleague, *there)] == [True, True, False, False]


def test_new_codes_end_the_others(rosa: User) -> None:
    here, there = signed_in(rosa), signed_in(rosa)
    here.get("/desk/codes/")
    device = TOTPDevice.objects.get(user=rosa)
    here.post("/desk/codes/", {"token": f"{totp(device.bin_key):06d}"})
    assert (opens(here), opens(there)) == (True, False)


def test_what_is_over_is_deleted(rosa: User, clock: Any) -> None:
    signed_in(rosa)
    clock.shift(timedelta(minutes=60))
    signed_in(rosa)
    clock.shift(timedelta(minutes=60))
    sessions_tidy(now=NOW + timedelta(minutes=120))
    assert WebSession.objects.count() == 1
