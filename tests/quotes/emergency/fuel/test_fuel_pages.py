"""The fuel page: who may see it, what is planned for the plan in force, the print."""

from __future__ import annotations

import io
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from intake.models import Event
from quotes.emergency.cautions import building_cautions
from quotes.emergency.fuel.facts import burn_of, set_of
from quotes.emergency.fuel.page import FUEL_CAUTIONS
from quotes.emergency.planning.force import plan_put_in_force
from quotes.emergency.planning.making import plan_make
from quotes.models import Branch, EmergencyEvent, FuelPlan, Need, NeedState, Unit
from sizing.fuel import burn_l_h
from tests.intake.desk import cast
from tests.quotes.cast import NOW
from tests.quotes.emergency import storm

pytestmark = pytest.mark.django_db
PAGE = "/desk/emergency/STORM-1/fuel/"
ASKED = {
    "trucks_STORM": "1", "capacity_gal": "500", "first_hour": "6", "last_hour": "22", "days": "5",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _frozen() -> Any:
    with time_machine.travel(NOW + timedelta(minutes=10), tick=False):
        yield


@pytest.fixture
def yard(db: None) -> Branch:
    return storm.yard()


@pytest.fixture
def event(yard: Branch) -> EmergencyEvent:
    """Two sets in force at a clinic and a mast."""
    made = storm.event()
    storm.unit("S-1", yard)
    storm.unit("S-2", yard)
    storm.need(made, "clinic", rank=1)
    storm.need(made, "mast")
    plan = plan_make(event_id=made.pk, reason="", actor=None, now=NOW, seconds=2)
    boss = cast.person("boss", "manager")
    plan_put_in_force(plan_id=plan.pk, actor=boss, now=NOW)
    return made


@pytest.fixture
def desk(client: Client, event: EmergencyEvent) -> Client:
    client.force_login(cast.person("some-rep", "rep"))
    return client


def test_a_stranger_is_sent_to_sign_in(client: Client, event: EmergencyEvent) -> None:
    for where in (PAGE, f"{PAGE}1/print.pdf"):
        answer = client.get(where)
        assert answer.status_code == 302
        assert answer.url.startswith("/accounts/sign-in/")
    assert client.post(PAGE, ASKED).status_code == 302
    assert not FuelPlan.objects.exists()


def test_somebody_without_a_role_is_refused(client: Client, event: EmergencyEvent) -> None:
    client.force_login(User.objects.create_user("nobody"))
    assert {client.get(PAGE).status_code, client.post(PAGE, ASKED).status_code} == {403}


def test_a_viewer_sees_and_makes_nothing(client: Client, event: EmergencyEvent) -> None:
    client.force_login(cast.person("some-viewer", "viewer"))
    page = client.get(PAGE)
    assert page.status_code == 200
    assert b"csrfmiddlewaretoken" not in page.content.split(b"<main", 1)[1]
    assert client.post(PAGE, ASKED).status_code == 403
    assert not FuelPlan.objects.exists()


def test_the_rounds_are_planned_stored_shown_and_printed(desk: Client) -> None:
    assert desk.post(PAGE, ASKED).status_code == 302
    plan = FuelPlan.objects.get()
    stops = plan.stops.exclude(need=None)
    assert {stop.note for stop in stops} == {"S-1", "S-2"}
    assert Event.objects.get(kind="fuel_planned").data["stops"] == stops.count()
    page = BeautifulSoup(desk.get(PAGE).content, "html.parser")
    assert "Clinic" in page.get_text()
    firsts = [row.td.get_text() for row in page.select("table.queue tbody tr")]
    assert all("06:00" <= hour <= "22:00" for hour in firsts if ":" in hour[:3])  # the yard's
    assert "Every set is filled before it falls to its reserve" in page.get_text()
    printed = desk.get(reverse("quotes:emergency_fuel_print", args=["STORM-1", 1]))
    assert printed["Content-Type"] == "application/pdf"
    text = "".join(p.extract_text() for p in PdfReader(io.BytesIO(printed.content)).pages)
    assert "STORM fuel truck 1" in text
    assert "S-2" in text
    assert desk.get(f"{PAGE}7/print.pdf").status_code == 404


def test_every_caution_of_the_building_stands_on_page_and_print(desk: Client) -> None:
    desk.post(PAGE, ASKED)
    printed = desk.get(f"{PAGE}1/print.pdf").content
    text = "".join("".join(p.extract_text() for p in PdfReader(io.BytesIO(printed)).pages).split())
    page = BeautifulSoup(desk.get(PAGE).content, "html.parser").get_text(" ")
    for caution in (*building_cautions(), *FUEL_CAUTIONS):
        assert str(caution) in page
        assert "".join(str(caution).split()) in text


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("capacity_gal", "a lot", "How much does a fuel truck carry?"),
        ("last_hour", "5", "must be back after"),
        ("trucks_STORM", "0", "at least one fuel truck"),
        ("days", "99", "from 1 to 7"),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_stays(
    desk: Client, field: str, value: str, said: str
) -> None:
    answer = desk.post(PAGE, {**ASKED, field: value})
    assert answer.status_code == 422
    page = BeautifulSoup(answer.content, "html.parser")
    assert said in page.get_text()
    assert page.select_one(f"input[name={field}]")["value"] == value  # type: ignore[index]
    assert not FuelPlan.objects.exists()


def test_without_a_plan_in_force_there_is_nothing_to_fuel(client: Client, yard: Branch) -> None:
    storm.need(storm.event(), "mast")
    client.force_login(cast.person("some-rep", "rep"))
    answer = client.post(PAGE, ASKED)
    assert answer.status_code == 409
    assert b"nothing to fuel" in answer.content


def test_a_set_filled_by_the_last_plan_starts_from_there(desk: Client) -> None:
    desk.post(PAGE, ASKED)
    Need.objects.filter(key="mast").update(state=NeedState.RUNNING, state_at=NOW)
    first = FuelPlan.objects.get()
    stop = first.stops.get(need__key="mast", arrive_at=min(
        s.arrive_at for s in first.stops.filter(need__key="mast")))  # fmt: skip
    with time_machine.travel(stop.leave_at + timedelta(hours=1), tick=False):
        desk.force_login(User.objects.get(username="some-rep"))  # hours later: signed in again
        desk.post(PAGE, ASKED)
    mast = next(s for s in FuelPlan.objects.get(number=2).result["sets"] if s["need"] == "Mast")
    assert mast["level_l"] == pytest.approx(mast["tank_l"] - mast["most_l_h"], abs=0.2)


def test_burn_rests_on_the_sizing_else_on_the_prime_rating(event: EmergencyEvent) -> None:
    set_ = set_of(Unit.objects.get(number="S-1"))
    sized = [{"set_code": "T25", "fuel_l_per_day": 60.0, "load_percent": 50.0}]
    mean, most, _why = burn_of(set_, "T25", sized)
    assert mean == pytest.approx(2.5)
    assert most == pytest.approx(burn_l_h(set_, set_.prime_kw / 2))
    assert burn_of(set_, "T40", sized)[0] == burn_l_h(set_, set_.prime_kw)
